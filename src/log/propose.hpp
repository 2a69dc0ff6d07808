// A column map for a log whose titles say nothing, from the physics between its columns.
//
// Every assignment of columns to quantities, in every usual unit, is held against the relations
// that recorded values obey (propose_equations.hpp). What is proposed comes with what it rests on:
//   proved   every relation it takes part in holds to the digits of the log, and no other column
//            does as well in its place
//   near     the relations hold within 3 %, but worse than the digits of the log allow: the column
//            may be a neighbour of the right one (a set-point, another sensor), or the record is
//            not steady, or averaged otherwise
//   guess    no relation tells; its looks are all there is
// A quantity for which two columns do as well is not proposed: both are named. A map is complete
// only where A and E agree under it and none of their columns is in doubt between two.
#pragma once

#include <cstddef>
#include <map>
#include <string>
#include <vector>

#include "log/map.hpp"
#include "table/table.hpp"

namespace leafwright {

enum class Standing { proved, near, guess };
const char* standing_name(Standing standing);  ///< "proved", "near", "guess"

struct ProposedColumn {
  std::size_t column = 0;
  MappedColumn mapped;
  Standing standing = Standing::guess;
  std::string evidence;  ///< "E, A agree to the digits"; "the only text that runs in blocks"
};

struct MapProposal {
  bool searched = false;      ///< false: there was nothing to search (too few rows or numbers)
  bool found_fluxes = false;  ///< columns were found under which A and E agree
  bool complete = false;      ///< and each of them is settled
  std::vector<ProposedColumn> columns;
  /// What is left open, for people: what could not be told, which columns are equally good.
  std::vector<std::string> open;
  std::vector<MappedConstant> constants;

  /// As a map, and a comment for each symbol.
  [[nodiscard]] ColumnMap map(const Table& table) const;
  [[nodiscard]] std::map<std::string, std::string> comments() const;
};

/// Searches. Never fails: what cannot be told is said. About 0.1 to 1 s for 60 columns, whatever
/// the number of rows (80 of them are looked at).
MapProposal propose_map(const Table& table);

}  // namespace leafwright

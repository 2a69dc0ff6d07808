// What is in a log: its layout, what each column seems to be and why, and what looks wrong.
//
// Everything here is evidence, not judgement: plausible is not proved. A set of columns is proved
// right when E, A, gsw and Ci recomputed from it agree with those recorded (physics.hpp).
// Columns are looked for under their titles and the given map; where those do not prove the log,
// by physics alone (propose.hpp).
#pragma once

#include <cstddef>
#include <map>
#include <optional>
#include <string>
#include <vector>

#include "base/error.hpp"
#include "base/note.hpp"
#include "log/map.hpp"
#include "log/physics.hpp"
#include "log/propose.hpp"
#include "table/table.hpp"

namespace leafwright {

enum class ColumnKind {
  empty,   ///< nothing but missing values
  number,  ///< numbers (a few cells may be text; `words` counts them)
  time,    ///< dates or times of day: YYYY-MM-DD, HH:MM[:SS[.fff]], or both
  text,
};
const char* column_kind_name(ColumnKind kind);  ///< "empty", "number", "time", "text"

struct LookColumn {
  std::string title;
  std::string unit;      ///< as stated; "" where none is
  std::string symbol;    ///< the reporting format's or Leafwright's name; "" where not known
  std::string proposed;  ///< what it may be, where that is not proved and nothing is stated
  std::string evidence;  ///< why the symbol and unit are believed, or what speaks against them
  ColumnKind kind = ColumnKind::empty;
  std::size_t n = 0;  ///< numbers (or texts, times)
  std::size_t missing = 0;
  std::size_t words = 0;            ///< text cells of a number column
  std::optional<double> low, high;  ///< of numbers, in the symbol's unit where it is known, else
                                    ///< as they stand
};

/// Something suspicious: how often, where first, and what it may mean.
struct Finding {
  std::string about;   ///< stable key: "gap", "repeat", "implausible", "sentinel", "constant", ...
  std::string column;  ///< "" where it is about rows
  std::size_t count = 0;
  std::vector<Place> first;  ///< at most three
  std::string text;
};

struct LookReport {
  std::string file;
  Layout layout;
  std::size_t rows = 0;
  std::vector<LookColumn> columns;
  std::vector<Finding> findings;
  std::vector<Error> problems;  ///< of the table
  Notes notes;
  Proof proof;          ///< of the columns by name or by the map
  bool proved = false;  ///< A agrees, with the columns as they are called
  /// Empty where the titles or a given map prove the log.
  std::optional<MapProposal> proposal;
  /// What the log's columns are: the given map, or the proposed one. To be written out.
  ColumnMap map;
  std::map<std::string, std::string> map_comments;
};

/// Never fails: what cannot be understood is said in the report. `known` is a map that was given.
LookReport look(const Table& table, const ColumnMap& known = {});

}  // namespace leafwright

#include "log/propose.hpp"

#include <algorithm>
#include <set>

#include "base/number.hpp"
#include "base/text.hpp"
#include "log/propose_guess.hpp"
#include "log/propose_search.hpp"
#include "quantity/symbol.hpp"
#include "quantity/unit.hpp"

namespace leafwright {
namespace {

constexpr std::size_t fewest_rows = 8, fewest_numbers = 6;

std::string symbol_of(Part part, const Reading& reading) {
  return std::string(part_symbol(part)) + (reading.dry ? "_dry" : "");
}

/// Whether a column's numbers, in the unit that it states, are what the reading says.
std::string unit_remark(const Table& table, const Reading& reading) {
  const std::string& text = table.unit(reading.column, 0);
  if (text.empty()) return "";
  const auto stated = parse_unit(text);
  const auto read = parse_unit(reading.unit);
  const auto between = stated && read ? conversion(*stated, *read) : fail(Error());
  if (between && between->changes_nothing()) return "";
  return "; the log states '" + text + "', the numbers are " + reading.unit;
}

class Assembly {
 public:
  Assembly(const Table& table, const SearchResult& found) : table_(table), found_(found) {}

  MapProposal run() {
    out_.searched = true;
    // Streams of water alone are found by chance where they do not agree to the digits.
    if (!found_.of(Relation::carbon) && (!fluxes_exact() || found_.best.contradictions() > 0)) {
      tell_of_lacking();
      return std::move(out_);
    }
    for (std::size_t p = 0; p < part_count; ++p) {
      const auto part = static_cast<Part>(p);
      if (found_.best.of(part) != nullptr) take(part, *found_.best.of(part));
    }
    if (found_.best.constant_gbw > 0 && found_.best.of(Part::gsw) != nullptr) take_constant_gbw();
    tell_of_factor();
    tell_of_lacking();
    // Two relations that hold only nearly can be chance; a third one is not.
    const bool enough = fluxes_exact() || found_.of(Relation::stomata);
    if (!enough) {
      out_.columns.clear();
      out_.open.clear();
      out_.constants.clear();
      out_.open.emplace_back(
          "no columns are proposed: E and A are not recorded, or what they are made from is not, "
          "so nothing can be proved");
    }
    out_.found_fluxes = found_.of(Relation::water) && found_.of(Relation::carbon) && enough;
    out_.complete = out_.found_fluxes && !doubtful_;
    return std::move(out_);
  }

 private:
  void take(Part part, const Reading& reading) {
    std::vector<std::string> rivals, twins;
    for (const Rival& rival : found_.rivals) {
      if (rival.part != part) continue;
      (rival.same_numbers ? twins : rivals)
          .push_back(column_reference(table_, rival.reading->column));
    }
    if (!rivals.empty()) {
      rivals.insert(rivals.begin(), column_reference(table_, reading.column));
      out_.open.push_back(symbol_of(part, reading) + ": " + join(rivals, ", ", 6) +
                          " do equally well; look which one it is");
      if (takes_part(found_.best, Relation::water, part) ||
          takes_part(found_.best, Relation::carbon, part)) {
        doubtful_ = true;
      }
      return;
    }
    ProposedColumn one;
    one.column = reading.column;
    one.mapped.symbol = symbol_of(part, reading);
    one.mapped.title = column_reference(table_, reading.column);
    one.mapped.unit = reading.unit;
    one.standing = Standing::proved;
    one.evidence = evidence(part, one.standing);
    // All else rests on the streams, the flow and the area.
    if (!fluxes_exact()) one.standing = Standing::near;
    if (found_.best.factor != 1 && (part == Part::F || part == Part::S))
      one.standing = Standing::near;
    if (part == Part::F && found_.flow_by_change) {
      one.standing = Standing::near;
      one.evidence += "; a column that never changes does as well: its set-point?";
    }
    if (part == Part::F && reading.constant) {
      one.standing = Standing::near;
      one.evidence += "; it never changes: may be the set-point and not what was measured";
    }
    if ((part == Part::P || reading.partial) && only_divides()) {
      one.standing = Standing::near;
      one.evidence += "; nothing but the division of partial pressures speaks for Patm";
    }
    if (hardly_tells(part)) {
      one.standing = Standing::near;
      one.evidence += "; gsw hardly depends on it: another column could do as well";
    }
    if (found_.by_unit[static_cast<std::size_t>(part)]) {
      one.standing = Standing::near;
      one.evidence += "; others do as well, but only this one states a suitable unit";
    }
    if (!twins.empty()) one.evidence += "; " + join(twins, ", ", 4) + " holds the same numbers";
    one.evidence += unit_remark(table_, reading);
    out_.columns.push_back(std::move(one));
  }

  /// A stomatal ratio, and a gbw where the log has few digits, move gsw by little.
  bool hardly_tells(Part part) const {
    const auto& gsw = found_.of(Relation::stomata);
    return part == Part::ratio || (part == Part::gbw && gsw && gsw->rounding > 1e-4);
  }

  /// The pressure divides streams, and no relation with a temperature confirms it.
  bool only_divides() const {
    const auto exact = [&](Relation relation) {
      return found_.of(relation) && found_.of(relation)->to_the_digits();
    };
    return found_.best.of(Part::P) != nullptr && !exact(Relation::stomata) &&
           !exact(Relation::deficit) && !exact(Relation::humidity);
  }

  bool fluxes_exact() const {
    const auto &E = found_.of(Relation::water), &A = found_.of(Relation::carbon);
    return E && E->to_the_digits() && (!A || A->to_the_digits());
  }

  std::string evidence(Part part, Standing& standing) const {
    std::vector<std::string> exact, near, rows;
    for (std::size_t r = 0; r < relation_count; ++r) {
      const auto relation = static_cast<Relation>(r);
      const auto& agreement = found_.agreements[r];
      if (!agreement || !takes_part(found_.best, relation, part)) continue;
      const std::string made = part_symbol(made_part(relation));
      if (agreement->to_the_digits()) {
        exact.push_back(made);
      } else {
        near.push_back(made + " within " + print_rounded(100 * agreement->off, 2) + " %");
      }
      if (agreement->outlying > 0) {
        rows.push_back(made + " not in " + std::to_string(agreement->outlying) + " of " +
                       std::to_string(agreement->n) + " rows");
      }
    }
    std::string out = "recomputed with it: ";
    if (!exact.empty()) out += join(exact) + " to the digits of the log";
    if (!near.empty()) {
      standing = Standing::near;
      out +=
          (exact.empty() ? "" : "; ") + join(near) + ", which is more than the digits leave open";
    }
    if (!rows.empty()) out += "; " + join(rows);
    return out;
  }

  void take_constant_gbw() {
    out_.constants.push_back({"gbw", found_.best.constant_gbw, {}});
    out_.open.push_back("gbw: no column holds it; " + print_rounded(found_.best.constant_gbw, 6) +
                        " mmol m-2 s-1 for the whole leaf makes gsw agree in all rows");
  }

  void tell_of_factor() {
    if (found_.best.factor == 1) return;
    doubtful_ = true;
    out_.open.push_back("area or flow: A and E recorded are both " +
                        print_rounded(found_.best.factor, 6) +
                        " times those recomputed: they were computed with another area (or the "
                        "flow is in another unit)");
  }

  void tell_of_lacking() {
    const auto lack = [&](Relation relation, const char* text) {
      if (!found_.of(relation)) out_.open.emplace_back(text);
    };
    lack(Relation::water,
         "E: no column is what two streams of water, a flow and an area make: E is not recorded, "
         "or one of them is lacking, so nothing can be proved");
    if (!found_.of(Relation::water)) return;
    lack(Relation::carbon,
         "A: no column is what two streams of CO2 make with this flow and area: A is not recorded, "
         "or a stream is lacking, or the record is not steady");
    if (!found_.of(Relation::carbon)) return;
    lack(Relation::stomata,
         "gsw, Tleaf, Patm, gbw: no columns make a recorded gsw: name them by hand");
    if (found_.of(Relation::stomata)) {
      lack(Relation::inside, "Ci: no column is what A, E, gsw and CO2s make");
    }
  }

  const Table& table_;
  const SearchResult& found_;
  MapProposal out_;
  bool doubtful_ = false;
};

}  // namespace

const char* standing_name(Standing standing) {
  switch (standing) {
    case Standing::proved:
      return "proved";
    case Standing::near:
      return "near";
    case Standing::guess:
      return "guess";
  }
  return "guess";
}

std::string column_reference(const Table& table, std::size_t column) {
  const std::string& title = table.title(column);
  std::size_t same = 0;
  for (std::size_t c = 0; c < table.columns(); ++c) {
    same += table.title(c) == title || table.name(c) == table.name(column) ? 1U : 0U;
  }
  return title.empty() || same > 1 || title.front() == '#' ? "#" + std::to_string(column + 1)
                                                           : title;
}

ColumnMap MapProposal::map(const Table& table) const {
  ColumnMap out;
  for (const ProposedColumn& column : columns) out.columns.push_back(column.mapped);
  out.constants = constants;
  const Layout& layout = table.layout();
  if (layout.decimal != '.') out.layout.decimal = layout.decimal;
  return out;
}

std::map<std::string, std::string> MapProposal::comments() const {
  std::map<std::string, std::string> out;
  for (const ProposedColumn& column : columns) {
    out[column.mapped.symbol] =
        std::string(standing_name(column.standing)) + ": " + column.evidence;
  }
  std::string head;
  for (const std::string& line : open) head += (head.empty() ? "" : "\n") + line;
  if (!head.empty()) out[""] = "Left open:\n" + head;
  return out;
}

MapProposal propose_map(const Table& table) {
  MapProposal out;
  const Sampling sampling(table);
  if (sampling.rows() < fewest_rows || sampling.columns().size() < fewest_numbers) {
    out.open.push_back("nothing to search: " + counted(table.rows(), "row") + " and " +
                       counted(sampling.columns().size(), "column") +
                       " of numbers; at least 8 rows and 6 columns are needed");
    return out;
  }
  // First what the units that the log states allow; they may be wrong, so then everything.
  if (const auto suited = sampling.suited()) {
    out = Assembly(table, search_assignment(*suited)).run();
  }
  if (!out.found_fluxes) out = Assembly(table, search_assignment(sampling)).run();
  add_guesses(table, out);
  return out;
}

}  // namespace leafwright

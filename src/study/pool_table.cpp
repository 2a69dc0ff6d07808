#include "study/pool_table.hpp"

#include <algorithm>
#include <map>

#include "base/number.hpp"
#include "base/text.hpp"
#include "fit/result.hpp"
#include "fit/shrunken.hpp"
#include "log/select.hpp"
#include "quantity/symbol.hpp"

namespace leafwright {
namespace {

constexpr double same_temperature = 0.5;  // K; common practice, no source

std::string cell(const Table& table, const std::string& column, std::size_t row) {
  if (!table.has(column)) return "";
  return std::string(table.text(*table.find(column), row));
}

std::optional<double> number(const Table& table, const std::string& column, std::size_t row) {
  if (!table.has(column)) return std::nullopt;
  const CellValue value = table.value(*table.find(column), row);
  return value.kind == CellKind::number ? std::optional(value.number) : std::nullopt;
}

/// Texts of one column by row of the fits: its own, else that of the samples table.
Result<std::vector<std::string>> labels(const Table& fits, const Table* samples,
                                        const Settings& settings, const char* setting) {
  std::vector<std::string> out(fits.rows());
  if (!settings.is_set(setting)) return out;
  const std::string& column = settings.text(setting);
  std::map<std::string, std::string> by_curve;
  if (!fits.has(column)) {
    if (samples == nullptr || !samples->has(column)) {
      std::vector<std::string> known = fits.names();
      if (samples != nullptr) {
        const auto more = samples->names();
        known.insert(known.end(), more.begin(), more.end());
      }
      return fail(ErrorCode::usage, "no column '" + column + "' in the fits or the samples",
                  suggest_name(column, known),
                  "the fits of a study carry the columns of its samples table; for others give a "
                  "table of curve_id and these columns with --samples");
    }
    const auto id = samples->find("curve_id");
    if (!id) return fail(id.error());
    for (std::size_t row = 0; row < samples->rows(); ++row) {
      const std::string curve(samples->text(*id, row)), label = cell(*samples, column, row);
      const auto [at, fresh] = by_curve.emplace(curve, label);
      if (!fresh && at->second != label) {
        return fail(ErrorCode::unreadable,
                    "curve '" + curve + "' has two values of " + column + ": '" + at->second +
                        "' and '" + label + "'",
                    "one for all rows of a curve", "", samples->row_place(row));
      }
    }
  }
  for (std::size_t row = 0; row < fits.rows(); ++row) {
    out[row] = fits.has(column) ? cell(fits, column, row) : by_curve[cell(fits, "curve_id", row)];
    if (out[row].empty() || is_missing(out[row])) out[row].clear();
  }
  return out;
}

/// Symbols with a status column, in the order of the table.
std::vector<std::string> symbols_of(const Table& fits) {
  constexpr std::string_view end = "_status";
  std::vector<std::string> out;
  for (const std::string& name : fits.names()) {
    if (!name.ends_with(end)) continue;
    std::string symbol = name.substr(0, name.size() - end.size());
    if (fits.has(symbol)) out.push_back(std::move(symbol));
  }
  return out;
}

bool is_rday(const std::string& symbol) {
  return symbol.starts_with("Rday");
}

std::string unit_of(const std::string& symbol) {
  const Symbol* known = find_symbol(symbol);
  return known == nullptr || known->unit.empty() ? "umol m-2 s-1" : std::string(known->unit);
}

/// What one call reads from the table.
struct Reader {
  const Table& fits;
  bool at25 = true;
  std::vector<std::size_t> rows;
  std::vector<std::string> groups, plants;
  bool plants_known = false;

  [[nodiscard]] bool is_text(const std::string& column, std::size_t row) const {
    return fits.has(column) && fits.value(*fits.find(column), row).kind == CellKind::text;
  }

  [[nodiscard]] PoolLeaf leaf(const std::string& symbol, std::size_t row) const {
    PoolLeaf out;
    out.curve_id = cell(fits, "curve_id", row);
    out.plant = plants_known ? plants[row] : out.curve_id;
    out.status = cell(fits, symbol + "_status", row);
    out.value = number(fits, symbol, row);
    out.se = number(fits, symbol + "_se", row);
    out.low = number(fits, symbol + "_low", row);
    out.high = number(fits, symbol + "_high", row);
    for (const char* part : {"", "25", "_se", "25_low", "25_high"}) {
      if (is_text(symbol + part, row)) {
        out.left_out = "'" + cell(fits, symbol + part, row) + "' is no number";
      }
    }
    const std::string failed = cell(fits, "failed", row);
    if (!failed.empty()) out.left_out = "not fitted";
    if (!at25) return out;
    const auto moved = number(fits, symbol + "25", row);
    // The error of the response is not in it: leaves of one call share the response.
    out.se = out.se && moved && out.value && *out.value != 0
                 ? std::optional(*out.se * *moved / *out.value)
                 : std::nullopt;
    out.value = moved;
    out.low = number(fits, symbol + "25_low", row);
    out.high = number(fits, symbol + "25_high", row);
    return out;
  }

  [[nodiscard]] PoolGroup group(const std::string& name, const std::string& symbol) const {
    PoolGroup out;
    out.group = name;
    out.symbol = symbol + (at25 ? "25" : "");
    out.unit = unit_of(symbol);
    out.log = !is_rday(symbol);
    std::optional<double> coldest, warmest;
    for (const std::size_t row : rows) {
      if (groups[row] != name) continue;
      out.leaves.push_back(leaf(symbol, row));
      const auto T = number(fits, "Tleaf", row);
      if (!T || !out.leaves.back().left_out.empty()) continue;
      coldest = coldest ? std::min(*coldest, *T) : *T;
      warmest = warmest ? std::max(*warmest, *T) : *T;
    }
    if (!at25 && warmest && *warmest - *coldest > same_temperature) {
      out.notes.push_back({NoteLevel::caution, "different-temperatures",
                           "leaves were at " + print_rounded(*coldest, 4) + " to " +
                               print_rounded(*warmest, 4) +
                               " degC: their values differ by temperature alone"});
    }
    for (const PoolLeaf& one : out.leaves) {
      if (!one.left_out.ends_with("is no number")) continue;
      out.notes.push_back({NoteLevel::caution, "no-number",
                           "curve '" + one.curve_id + "' is left out: " + one.left_out});
    }
    return out;
  }
};

Result<std::vector<std::string>> chosen(const Table& fits, const Settings& settings, bool at25) {
  const std::vector<std::string> known = symbols_of(fits);
  if (known.empty()) {
    return fail(ErrorCode::unreadable, "'" + fits.file() + "' has no fitted parameters",
                "the table that 'leafwright fit --out' or a study writes",
                "points are fitted first: leafwright fit POINTS --out FITS.csv",
                Place{fits.file(), 0, 0, ""});
  }
  std::vector<std::string> wanted = settings.list("parameter");
  const bool joint = settings.text("pool") == "information";
  const std::vector<std::string> three = {"Vcmax", "J", "Rday"};
  if (joint && !wanted.empty()) {
    return fail(ErrorCode::usage, "--parameter with --pool information", "one of the two",
                "information pools Vcmax, J and Rday together");
  }
  if (joint && settings.text("bounds") == "censored") {
    return fail(ErrorCode::usage, "--bounds censored with --pool information", "one of the two",
                "a leaf's bound is left out there, its other values are used");
  }
  if (joint) return three;
  for (const std::string& symbol : wanted) {
    if (std::find(known.begin(), known.end(), symbol) == known.end()) {
      return fail(ErrorCode::usage, "no parameter '" + symbol + "' in '" + fits.file() + "'",
                  suggest_name(symbol, known));
    }
  }
  if (!wanted.empty()) return wanted;
  // Without a choice, only what some row has a value or a bound of that was not held.
  const std::string held = status_name(Status::fixed);
  for (const std::string& symbol : known) {
    const std::string column = symbol + (at25 ? "25" : "");
    for (std::size_t row = 0; row < fits.rows(); ++row) {
      if (!number(fits, column, row) && !number(fits, column + "_low", row)) continue;
      if (cell(fits, symbol + "_status", row) == held) continue;
      wanted.push_back(symbol);
      break;
    }
  }
  return wanted;
}

void pool_three(const Reader& reader, const std::string& group, const PoolRules& rules,
                PoolRun& run) {
  std::vector<std::array<std::optional<double>, joint_size>> correlations;
  for (const std::size_t row : reader.rows) {
    if (reader.groups[row] != group) continue;
    correlations.push_back({number(reader.fits, "corr_Vcmax_J", row),
                            number(reader.fits, "corr_Vcmax_Rday", row),
                            number(reader.fits, "corr_J_Rday", row)});
  }
  auto pooled = pool_jointly(
      {reader.group(group, "Vcmax"), reader.group(group, "J"), reader.group(group, "Rday")},
      correlations, rules);
  if (!pooled) {
    run.failed.push_back({group, "Vcmax, J, Rday", pooled.error().text()});
    return;
  }
  for (PoolResult& result : *pooled) run.results.push_back(std::move(result));
}

/// Leaves that count more than once: by two methods, or by several curves under one leaf_id.
void note_repeats(const Reader& reader, PoolRun& run) {
  std::vector<std::string> methods;
  std::map<std::string, std::size_t> curves;
  for (const std::size_t row : reader.rows) {
    const std::string method = cell(reader.fits, "method", row);
    if (!method.empty() && std::find(methods.begin(), methods.end(), method) == methods.end()) {
      methods.push_back(method);
    }
    ++curves[cell(reader.fits, "leaf_id", row)];
  }
  if (methods.size() > 1) {
    run.notes.push_back({NoteLevel::warning, "methods-mixed",
                         "curves of several methods are pooled together (" +
                             join(methods, ", ", 6) +
                             "): a leaf measured by two counts twice; choose one by 'only', such "
                             "as method=" +
                             methods.front()});
  }
  curves.erase("");
  std::vector<std::string> repeated;
  for (const auto& [leaf, count] : curves) {
    if (count > 1) repeated.push_back(leaf);
  }
  if (!reader.plants_known && !repeated.empty()) {
    run.notes.push_back({NoteLevel::caution, "leaf-repeated",
                         "several curves of one leaf count as so many leaves: " +
                             join(repeated, ", ", 6) + "; --plant leaf_id averages them first"});
  }
}

void add_notes(const Reader& reader, const PoolRules& rules, PoolRun& run) {
  if (rules.method == PoolMethod::information && !reader.fits.has("corr_Vcmax_J")) {
    run.notes.push_back(
        {NoteLevel::caution, "no-correlations",
         "the table has no columns corr_Vcmax_J, ...: correlations are taken as 0"});
  }
  note_repeats(reader, run);
  if (!reader.plants_known) {
    run.notes.push_back({NoteLevel::caution, "plants-not-known",
                         "no --plant was given: every leaf counts as a plant of its own, which "
                         "makes intervals too short where leaves share a plant"});
  }
  run.notes.push_back(
      {NoteLevel::info, "two-stage",
       "made for means of groups: intervals of single leaves are those of the fits; "
       "values drawn towards the group are marked as shrunken and not for further "
       "analysis"});
}

}  // namespace

Result<PoolRun> pool_fits(const Table& fits, const Table* samples, const Settings& settings,
                          const std::vector<std::string>& only) {
  const PoolRules rules = pool_rules(settings);
  auto rows = select_rows(fits, only);
  if (!rows) return fail(rows.error());
  if (auto ok = refuse_shrunken(fits, *rows); !ok) return fail(ok.error());
  const bool at25 = settings.text("values") == "25";
  const auto symbols = chosen(fits, settings, at25);
  if (!symbols) return fail(symbols.error());
  auto groups = labels(fits, samples, settings, "group");
  if (!groups) return fail(groups.error());
  auto plants = labels(fits, samples, settings, "plant");
  if (!plants) return fail(plants.error());
  Reader reader{fits, at25, {}, std::move(*groups), std::move(*plants), rules.plants_known};
  PoolRun run;
  if (rules.plants_known) run.unit_name = "plant";
  std::vector<std::string> names, unnamed;
  for (const std::size_t row : *rows) {
    const bool no_group = settings.is_set("group") && reader.groups[row].empty();
    if (no_group || (rules.plants_known && reader.plants[row].empty())) {
      unnamed.push_back(cell(fits, "curve_id", row));
      continue;
    }
    reader.rows.push_back(row);
    const std::string& name = reader.groups[row];
    if (std::find(names.begin(), names.end(), name) == names.end()) names.push_back(name);
  }
  if (!unnamed.empty()) {
    run.notes.push_back({NoteLevel::caution, "no-label",
                         counted(unnamed.size(), "curve") +
                             " without a group or plant left out: " + join(unnamed, ", ", 6)});
  }
  if (rules.method == PoolMethod::information) {
    for (const std::string& name : names) pool_three(reader, name, rules, run);
  } else {
    for (const std::string& symbol : *symbols) {
      for (const std::string& name : names) {
        auto pooled = pool_group(reader.group(name, symbol), rules);
        if (pooled) {
          run.results.push_back(std::move(*pooled));
        } else {
          run.failed.push_back({name, symbol + (at25 ? "25" : ""), pooled.error().text()});
        }
      }
    }
  }
  add_notes(reader, rules, run);
  return run;
}

}  // namespace leafwright

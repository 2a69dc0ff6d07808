#include "fit/response_table.hpp"

#include <algorithm>
#include <functional>

#include "base/number.hpp"
#include "base/text.hpp"
#include "fit/electron_fit.hpp"
#include "fit/light_fit.hpp"
#include "fit/shrunken.hpp"
#include "fit/stomata_fit.hpp"
#include "fit/temperature_fit.hpp"
#include "log/column.hpp"
#include "log/select.hpp"
#include "quantity/symbol.hpp"

namespace leafwright {

namespace {

struct Group {
  std::string name;
  std::vector<std::size_t> rows;
};

Result<std::optional<std::size_t>> text_column(const Table& table, const std::string& name) {
  if (name.empty()) return std::optional<std::size_t>();
  const auto column = table.find(name);
  if (!column) return fail(column.error());
  return std::optional<std::size_t>(*column);
}

std::string optional_text(const Settings& settings, const std::string& name) {
  return settings.is_set(name) ? settings.text(name) : "";
}

std::optional<double> optional_number(const Settings& settings, const std::string& name) {
  return settings.is_set(name) ? std::optional(settings.number(name)) : std::nullopt;
}

Result<std::vector<double>> places(const Settings& settings) {
  std::vector<double> out;
  for (const std::string& text : settings.list("at")) {
    const auto number = parse_number(text);
    if (!number) {
      return fail(ErrorCode::usage, "--at '" + shortened(text) + "'", "a number", "");
    }
    out.push_back(*number);
  }
  return out;
}

/// Rows that are chosen and used. Errors: as select_rows and refuse_shrunken.
Result<std::vector<std::size_t>> used_rows(const Table& table, const Settings& settings) {
  auto rows = select_rows(table, settings.list("only"));
  if (!rows) return fail(rows.error());
  if (table.has("use")) {
    const auto use = table.find("use");
    if (!use) return fail(use.error());
    std::erase_if(*rows, [&](std::size_t row) {
      const std::string_view text = table.text(*use, row);
      return text == "0" || same_letters(text, "false");
    });
  }
  if (auto ok = refuse_shrunken(table, *rows); !ok) return fail(ok.error());
  return rows;
}

/// The used rows, by group.
Result<std::vector<Group>> groups_of(const Table& table, const Settings& settings) {
  const auto rows = used_rows(table, settings);
  if (!rows) return fail(rows.error());
  std::string by = optional_text(settings, "group");
  if (by.empty() && settings.text("of") == "light" && table.has("curve_id")) by = "curve_id";
  const auto column = text_column(table, by);
  if (!column) return fail(column.error());
  std::vector<Group> groups;
  for (const std::size_t row : *rows) {
    const std::string name = *column ? std::string(table.text(**column, row)) : "";
    const auto found = std::find_if(groups.begin(), groups.end(),
                                    [&](const Group& group) { return group.name == name; });
    if (found == groups.end()) {
      groups.push_back({name, {row}});
    } else {
      found->rows.push_back(row);
    }
  }
  return groups;
}

/// A number, or why there is none.
std::optional<double> number_in(const QuantityColumn& column, std::size_t row,
                                std::vector<ResponseExclusion>& excluded) {
  const auto value = column.read(row);
  if (!value) {
    excluded.push_back({value.error().place, value.error().found});
    return {};
  }
  if (!*value) excluded.push_back({column.place(row), "no " + column.name()});
  return *value;
}

void take_notes(const QuantityColumn& column, const std::string& unit, ResponseRun& run) {
  if (column.assumed_unit()) {
    run.notes.push_back(
        {NoteLevel::info, "unit-assumed", column.name() + ": no unit is stated, taken as " + unit});
  }
  run.notes.insert(run.notes.end(), column.notes().begin(), column.notes().end());
}

void keep(ResponseRun& run, Result<ResponseFit> fit, const Group& group, const std::string& of,
          std::vector<ResponseExclusion> excluded) {
  if (!fit) {
    run.failed.push_back({group.name, of, fit.error().text()});
    return;
  }
  fit->group = group.name;
  fit->excluded.insert(fit->excluded.end(), std::make_move_iterator(excluded.begin()),
                       std::make_move_iterator(excluded.end()));
  run.fits.push_back(std::move(*fit));
}

/// "Vcmax" of a CSV of `fit`: the unit is that of the symbol.
std::string unit_of(const std::string& parameter) {
  const Symbol* symbol = find_symbol(parameter);
  return symbol == nullptr || symbol->unit.empty() ? "umol m-2 s-1" : std::string(symbol->unit);
}

bool any_c4(const Table& table, const std::vector<ResponsePoint>& points) {
  if (!table.has("pathway")) return false;
  const std::size_t column = *table.find("pathway");
  return std::any_of(points.begin(), points.end(), [&](const ResponsePoint& point) {
    return same_letters(table.text(column, point.row), "c4");
  });
}

Result<void> temperature(const Table& table, const Settings& settings,
                         const std::vector<Group>& groups, ResponseRun& run) {
  const std::vector<std::string>& parameters = settings.list("parameter");
  if (parameters.empty()) {
    return fail(ErrorCode::usage, "no --parameter", "a column of values, such as Vcmax");
  }
  TemperatureOptions options;
  const auto form = find_temperature_form(settings.text("form"));
  if (!form) return fail(form.error());
  options.form = *form;
  options.Hd = settings.number("hd");
  const auto at = places(settings);
  if (!at) return fail(at.error());
  options.at = *at;
  const auto leaf = text_column(table, optional_text(settings, "leaf"));
  if (!leaf) return fail(leaf.error());
  const auto T = QuantityColumn::find(table, "Tleaf", "degC");
  if (!T) return fail(T.error());
  take_notes(*T, "degC", run);
  for (const std::string& parameter : parameters) {
    const std::string unit = unit_of(parameter);
    const auto values = QuantityColumn::find(table, parameter, unit);
    if (!values) return fail(values.error());
    take_notes(*values, unit, run);
    for (const Group& group : groups) {
      std::vector<ResponsePoint> points;
      std::vector<ResponseExclusion> excluded;
      for (const std::size_t row : group.rows) {
        const auto x = number_in(*T, row, excluded);
        const auto y = x ? number_in(*values, row, excluded) : std::nullopt;
        if (!y) continue;
        if (*y <= 0) {
          excluded.push_back({values->place(row), parameter + " is not positive"});
          continue;
        }
        const std::string name = *leaf ? std::string(table.text(**leaf, row)) : "";
        points.push_back({*x, *y, name, row, values->place(row)});
      }
      options.c4 = any_c4(table, points);
      keep(run, fit_temperature(parameter, unit, points, options), group, parameter,
           std::move(excluded));
    }
  }
  if (!*leaf) {
    run.notes.push_back({NoteLevel::caution, "leaves-not-told-apart",
                         "no --leaf was given: every row counts as a leaf of its own, which makes "
                         "intervals too short where one leaf was measured several times"});
  }
  return {};
}

Result<void> light(const Table& table, const Settings& settings, const std::vector<Group>& groups,
                   ResponseRun& run) {
  LightOptions options;
  options.rday = optional_number(settings, "light-rday");
  if (settings.is_set("absorptance")) {
    options.absorptance = settings.number("absorptance");
    options.absorptance_given = true;
  }
  options.line_from = settings.number("line-from");
  options.line_to = settings.number("line-to");
  const auto at = places(settings);
  if (!at) return fail(at.error());
  options.at = *at;
  const auto Q = QuantityColumn::find(table, settings.text("chamber-light"), "umol m-2 s-1");
  const auto A = QuantityColumn::find(table, "A", "umol m-2 s-1");
  if (!Q) return fail(Q.error());
  if (!A) return fail(A.error());
  take_notes(*Q, "umol m-2 s-1", run);
  take_notes(*A, "umol m-2 s-1", run);
  for (const Group& group : groups) {
    std::vector<ResponsePoint> points;
    std::vector<ResponseExclusion> excluded;
    for (const std::size_t row : group.rows) {
      const auto x = number_in(*Q, row, excluded);
      const auto y = x ? number_in(*A, row, excluded) : std::nullopt;
      if (!y) continue;
      if (*x < 0) {
        excluded.push_back({Q->place(row), "light below zero"});
        continue;
      }
      points.push_back({*x, *y, "", row, A->place(row)});
    }
    keep(run, fit_light(points, options), group, "A", std::move(excluded));
  }
  return {};
}

/// Why a row of fits has no J to use; "" where it has.
std::string unusable(const Table& table, const std::string& parameter, std::size_t row) {
  // J25 has the status of J.
  for (const std::string& name : {parameter, parameter.substr(0, parameter.find("25"))}) {
    if (!table.has(name + "_status")) continue;
    const std::string status(table.text(*table.find(name + "_status"), row));
    return status == "estimated" ? "" : parameter + ": " + (status.empty() ? "no value" : status);
  }
  return "";
}

Result<ElectronOptions> electron_options(const Settings& settings) {
  ElectronOptions options;
  options.slope_free = settings.text("light-slope") == "fitted";
  options.spectral_loss = settings.number("spectral-loss");
  if (settings.is_set("absorptance")) {
    options.absorptance = settings.number("absorptance");
  } else if (!options.slope_free) {
    return fail(ErrorCode::usage, "no --absorptance given",
                "the leaf's absorptance, or --light-slope fitted",
                "Jmax and curvature depend on it; about 0.85 is usual for green leaves (von "
                "Caemmerer 2000), but it is for you to state");
  }
  const auto at = places(settings);
  if (!at) return fail(at.error());
  options.at = *at;
  return options;
}

/// J at leaf temperature belongs to that temperature.
void note_temperatures(const Table& table, const std::vector<ResponsePoint>& points,
                       const std::string& parameter, ResponseRun& run) {
  if (!table.has("Tleaf") || parameter.ends_with("25") || points.empty()) return;
  double low = 1e300, high = -1e300;
  for (const ResponsePoint& point : points) {
    const CellValue T = table.value(*table.find("Tleaf"), point.row);
    if (T.kind != CellKind::number) return;
    low = std::min(low, T.number);
    high = std::max(high, T.number);
  }
  if (high - low <= 1) return;
  run.notes.push_back({NoteLevel::caution, "different-temperatures",
                       parameter + " was measured at " + print_rounded(low, 4) + " to " +
                           print_rounded(high, 4) +
                           " degC: temperature and light are mixed; use values at 25 degC "
                           "(--parameter J25)"});
}

Result<void> electrons(const Table& table, const Settings& settings,
                       const std::vector<Group>& groups, ResponseRun& run) {
  const auto options = electron_options(settings);
  if (!options) return fail(options.error());
  std::vector<std::string> parameters = settings.list("parameter");
  if (parameters.empty()) parameters.emplace_back("J");
  const auto Q = QuantityColumn::find(table, settings.text("chamber-light"), "umol m-2 s-1");
  if (!Q) return fail(Q.error());
  take_notes(*Q, "umol m-2 s-1", run);
  for (const std::string& parameter : parameters) {
    const auto J = QuantityColumn::find(table, parameter, "umol m-2 s-1");
    if (!J) return fail(J.error());
    take_notes(*J, "umol m-2 s-1", run);
    for (const Group& group : groups) {
      std::vector<ResponsePoint> points;
      std::vector<ResponseExclusion> excluded;
      for (const std::size_t row : group.rows) {
        if (std::string why = unusable(table, parameter, row); !why.empty()) {
          excluded.push_back({J->place(row), std::move(why)});
          continue;
        }
        const auto x = number_in(*Q, row, excluded);
        const auto y = x ? number_in(*J, row, excluded) : std::nullopt;
        if (y) points.push_back({*x, *y, "", row, J->place(row)});
      }
      note_temperatures(table, points, parameter, run);
      keep(run, fit_electron_transport(parameter, points, *options), group, parameter,
           std::move(excluded));
    }
  }
  return {};
}

Result<void> stomata(const Table& table, const Settings& settings, const std::vector<Group>& groups,
                     ResponseRun& run) {
  StomataOptions options;
  const auto model = find_stomata_model(settings.text("model"));
  if (!model) return fail(model.error());
  options.model = *model;
  options.g0 = optional_number(settings, "g0");
  options.Gamma = optional_number(settings, "gamma");
  options.D0 = settings.number("d0");
  if (*model == StomataModel::leuning && !options.Gamma) {
    return fail(ErrorCode::usage, "--model leuning without --gamma",
                "the CO2 compensation point, umol mol-1");
  }
  const bool humidity = *model == StomataModel::ball_berry;
  const auto gsw = QuantityColumn::find(table, "gsw", "mmol m-2 s-1");
  const auto A = QuantityColumn::find(table, "A", "umol m-2 s-1");
  const auto CO2s = QuantityColumn::find(table, "CO2s", "umol mol-1");
  const auto air = humidity ? QuantityColumn::find(table, "RHs", "%")
                            : QuantityColumn::find(table, "VPDleaf", "kPa");
  for (const auto* column : {&gsw, &A, &CO2s, &air}) {
    if (!*column) return fail(column->error());
  }
  take_notes(*gsw, "mmol m-2 s-1", run);
  take_notes(*A, "umol m-2 s-1", run);
  take_notes(*CO2s, "umol mol-1", run);
  take_notes(*air, humidity ? "%" : "kPa", run);
  for (const Group& group : groups) {
    std::vector<StomataRow> rows;
    std::vector<ResponseExclusion> excluded;
    for (const std::size_t row : group.rows) {
      const auto g = number_in(*gsw, row, excluded);
      const auto a = g ? number_in(*A, row, excluded) : std::nullopt;
      const auto c = a ? number_in(*CO2s, row, excluded) : std::nullopt;
      const auto h = c ? number_in(*air, row, excluded) : std::nullopt;
      if (!h) continue;
      StomataRow out;
      out.gsw = *g;
      out.A = *a;
      out.CO2s = *c;
      (humidity ? out.RHs : out.VPDleaf) = *h;
      out.row = row;
      out.place = gsw->place(row);
      rows.push_back(std::move(out));
    }
    keep(run, fit_stomata(rows, options), group, "gsw", std::move(excluded));
  }
  return {};
}

}  // namespace

Result<ResponseRun> fit_responses(const Table& table, const Settings& settings) {
  if (!settings.is_set("of")) {
    return fail(ErrorCode::usage, "no --of given", "temperature, light, electrons or stomata");
  }
  const auto groups = groups_of(table, settings);
  if (!groups) return fail(groups.error());
  if (groups->empty()) {
    return fail(ErrorCode::unreadable, "no row of " + table.file() + " takes part",
                "rows with use = 1");
  }
  ResponseRun run;
  const std::string& of = settings.text("of");
  const auto done = of == "temperature" ? temperature(table, settings, *groups, run)
                    : of == "light"     ? light(table, settings, *groups, run)
                    : of == "electrons" ? electrons(table, settings, *groups, run)
                                        : stomata(table, settings, *groups, run);
  if (!done) return fail(done.error());
  return run;
}

}  // namespace leafwright

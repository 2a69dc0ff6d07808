#include "log/steps_points.hpp"

#include <algorithm>
#include <cmath>

#include "base/text.hpp"
#include "log/gather.hpp"
#include "table/csv.hpp"

namespace leafwright {

namespace {

/// Channels that a mean makes sense of.
std::vector<const Channel*> averaged(const Log& log) {
  std::vector<const Channel*> out;
  for (const Channel& channel : log.channels()) {
    if (channel.symbol != "time_s" && channel.symbol != "elapsed_s" && channel.symbol != "record") {
      out.push_back(&channel);
    }
  }
  return out;
}

double mean_of(const std::vector<double>& values, const std::vector<std::size_t>& rows) {
  double sum = 0, n = 0;
  for (const std::size_t row : rows) {
    if (std::isnan(values[row])) continue;
    sum += values[row];
    ++n;
  }
  return n > 0 ? sum / n : std::nan("");
}

/// May a row enter a mean?
char enters(const FluxSource& source, const FluxRows& rows, std::size_t row) {
  if (std::isnan(rows.A[row])) return 0;
  const Equalisations* cells = source.equalisations;
  if (cells != nullptr && !cells->in_progress.empty() && cells->in_progress[row] != 0) return 0;
  // No Ci in one noisy row is no reason to leave out its part of the mean.
  return rows.use[row] != 0 || rows.reason(row).starts_with("no Ci") ? 1 : 0;
}

void write(CsvWriter& csv, const FluxSource& source, const CutCurve& curve,
           const std::vector<const Channel*>& channels, const Plateau& plateau) {
  std::vector<std::size_t> rows;
  for (const std::size_t position : plateau.used) rows.push_back(curve.rows[position]);
  csv.text(curve.curve_id);
  if (source.axis->there()) csv.number(mean_of(source.axis->seconds, rows));
  for (const Channel* channel : channels) csv.number(mean_of(channel->values, rows));
  csv.number(static_cast<double>(rows.size())).number(static_cast<double>(plateau.repeats));
  csv.number(rows.size() > 1 ? std::optional(plateau.A->sd) : std::nullopt);
  csv.number(plateau.A->slope).number(plateau.A->slope_se);
  csv.number(plateau.gsw ? plateau.gsw->slope : std::nullopt).number(plateau.CO2r_steady->slope);
  csv.text(step_role_name(plateau.role)).text(plateau.steady ? "1" : "0").text(plateau.why);
  csv.end_row();
}

}  // namespace

PlateauLog plateau_log(const FluxSource& source, const FluxRows& rows, const StepChoice& choice) {
  PlateauLog out;
  const auto channels = averaged(*source.log);
  CsvWriter csv;
  csv.text("curve_id");
  if (source.axis->there()) csv.text("time_s");
  for (const Channel* channel : channels) csv.text(channel->symbol);
  for (const char* name : {"rows", "repeats", "A_row_sd", "A_slope", "A_slope_se", "gsw_slope",
                           "CO2r_slope", "step_role", "steady", "steady_why"}) {
    csv.text(name);
  }
  csv.end_row();
  const Channel* CO2r = source.log->find("CO2r");
  for (const CutCurve& curve : source.cut->curves) {
    if (CO2r == nullptr) break;
    const auto seconds = gather(source.axis->seconds, curve.rows);
    const auto level = gather(CO2r->values, curve.rows);
    const auto A = gather(rows.A, curve.rows);
    const auto gsw = gather(rows.gsw, curve.rows);
    std::vector<char> repeat, use;
    for (const std::size_t row : curve.rows) {
      repeat.push_back(rows.repeat[row]);
      use.push_back(enters(source, rows, row));
    }
    for (const Plateau& plateau : find_plateaus({seconds, level, A, gsw, repeat, use}, choice)) {
      write(csv, source, curve, channels, plateau);
      out.first_rows.push_back(curve.rows[plateau.used.front()]);
      ++out.plateaus;
      out.unsteady += plateau.steady ? 0U : 1U;
      out.repeats += plateau.repeats;
    }
  }
  out.csv = csv.take();
  std::string text = counted(out.plateaus, "plateau") + " of CO2r averaged";
  if (out.unsteady > 0) text += ", " + std::to_string(out.unsteady) + " of them not steady";
  if (out.repeats > 0) {
    text +=
        "; " + counted(out.repeats, "row") + " that repeat the one before left out of the means";
  }
  out.notes.push_back(
      {out.unsteady > 0 ? NoteLevel::caution : NoteLevel::info, "plateaus", std::move(text)});
  return out;
}

void flag_unsteady(const Log& plateaus, FluxRows& rows) {
  const Table& table = plateaus.table();
  if (!table.has("steady")) return;
  const auto column = table.find("steady");
  if (!column) return;
  for (std::size_t row = 0; row < table.rows(); ++row) {
    if (table.text(*column, row) == "0") {
      rows.flags[row] |= std::uint32_t{1}
                         << (screen_flag_shift + static_cast<unsigned>(ScreenRule::not_steady));
    }
  }
}

}  // namespace leafwright

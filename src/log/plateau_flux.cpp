#include "log/plateau_flux.hpp"

#include <algorithm>

#include "log/gather.hpp"

namespace leafwright {
namespace {

Result<void> read_means(PlateauFlux& out, std::string csv, const std::string& file) {
  // Under the name of the log it was made from: a samples table may name that.
  auto table = read_table(std::move(csv), file);
  if (!table) return fail(table.error());
  auto log = read_log(std::make_shared<const Table>(std::move(*table)));
  if (!log) return fail(log.error());
  out.log = std::move(*log);
  auto axis = time_axis(*out.log);
  if (!axis) return fail(axis.error());
  out.axis = std::move(*axis);
  auto curves = cut_log(*out.log, out.axis, nullptr, {});
  if (!curves) return fail(curves.error());
  out.cut = std::move(*curves);
  return {};
}

}  // namespace

Result<std::unique_ptr<PlateauFlux>> plateau_flux(const FluxSource& source, const FluxRows& rows,
                                                  const FluxChoice& choice, const StepChoice& steps,
                                                  const ScreenChoice& screen) {
  if (source.log->find("CO2r") == nullptr) {
    return fail(ErrorCode::usage, "plateaus of a log without CO2r", "the column CO2r",
                "name its column in a map");
  }
  PlateauLog means = plateau_log(source, rows, steps);
  if (means.plateaus == 0) {
    return fail(ErrorCode::refused, "CO2r stands still nowhere: there is no plateau",
                "a log of steps", "--hold-shortest and --setpoint-tolerance say what a hold is");
  }
  auto out = std::make_unique<PlateauFlux>();
  if (auto ok = read_means(*out, std::move(means.csv), source.log->table().file()); !ok) {
    return fail(ok.error());
  }
  out->from = std::move(means.first_rows);
  out->notes = std::move(means.notes);
  if (source.equalisations != nullptr) out->cells = *source.equalisations;
  out->cells.in_progress.clear();
  if (source.instrument != nullptr) out->instrument = *source.instrument;
  out->instrument.noise.clear();
  out->samples = source.samples;
  FluxChoice plain = choice;
  plain.storage = false;  // a plateau stores nothing
  plain.sd = {};
  auto made = flux_rows(out->source(), plain);
  if (!made) return fail(made.error());
  out->rows = std::move(*made);
  screen_flux(out->source(), screen, out->rows);
  flag_unsteady(*out->log, out->rows);
  return out;
}

bool is_continuous(const FluxSource& source, const StepChoice& steps) {
  const Channel* CO2r = source.log->find("CO2r");
  if (CO2r == nullptr) return false;
  std::vector<std::size_t> lengths;
  for (const CutCurve& curve : source.cut->curves) {
    const auto level = gather(CO2r->values, curve.rows);
    const auto seconds = gather(source.axis->seconds, curve.rows);
    const auto holds = find_holds(level, seconds, steps.tolerance, steps.shortest_s);
    if (holds.size() < 2) continue;
    for (const Hold& hold : holds) lengths.push_back(hold.last - hold.first + 1);
  }
  if (lengths.empty()) return false;
  const auto middle = lengths.begin() + static_cast<std::ptrdiff_t>(lengths.size() / 2);
  std::nth_element(lengths.begin(), middle, lengths.end());
  return *middle >= continuous_rows;
}

}  // namespace leafwright

#include "log/flux.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <limits>

#include "air/balance.hpp"
#include "air/moist_air.hpp"
#include "base/number.hpp"
#include "base/text.hpp"
#include "log/column.hpp"
#include "log/flux_inputs.hpp"
#include "log/flux_storage.hpp"

namespace leafwright {

namespace {

constexpr double missing = std::numeric_limits<double>::quiet_NaN();
constexpr std::size_t progress_rows = 50000;

class FluxMaker {
 public:
  FluxMaker(const FluxSource& source, const FluxChoice& choice, const Progress& progress)
      : source_(source), choice_(choice), progress_(progress), in_(source, choice) {}

  Result<FluxRows> make();

 private:
  void prepare();
  Result<void> curve(const std::string& id, const std::vector<std::size_t>& rows);
  bool fill(std::size_t row, FluxInput& input);
  void steady(std::size_t row, const CurveInputs& c, const FluxInput& input, std::size_t at);
  void compute(std::size_t row, CurveInputs& c, FluxInput& input);
  Result<FluxResult> result_of(std::size_t row, const FluxInput& input,
                               const FluxOptions& options) const;
  void keep(std::size_t row, const FluxInput& input, const FluxResult& result);
  void keep_noise(std::size_t row, const FluxNoise& noise);
  void keep_flags(std::size_t row, const std::vector<RaisedFlag>& raised);
  void slopes(const CurveInputs& c, const std::vector<std::size_t>& rows);
  void finish();

  const FluxSource& source_;
  const FluxChoice& choice_;
  const Progress& progress_;
  FluxInputs in_;
  FluxRows out_;
  std::vector<double> CO2s_slope_, H2Os_slope_, slope_sd_;  // of the curve at hand
  std::array<std::size_t, 16> flag_counts_ = {};
  std::array<Note, 16> flag_notes_;
  std::size_t done_ = 0, unsteady_ = 0;
  std::string unsteady_text_;
};

void FluxMaker::prepare() {
  const std::size_t n = source_.log->rows();
  for (auto* column : {&out_.E, &out_.A, &out_.gsw, &out_.Ci, &out_.VPDleaf, &out_.Tleaf,
                       &out_.Patm, &out_.area, &out_.CO2s}) {
    column->assign(n, missing);
  }
  out_.use.assign(n, 1);
  out_.flags.assign(n, 0);
  out_.why.assign(n, 0);
  out_.repeat = in_.repeats();
  const Equalisations* cells = source_.equalisations;
  if (cells != nullptr && !cells->events.empty()) {
    out_.age_s.assign(n, missing);
    for (std::size_t row = 0; row < n; ++row) {
      if (const auto age = cells->age(source_.axis->seconds[row])) out_.age_s[row] = *age;
    }
  }
}

void FluxMaker::slopes(const CurveInputs& c, const std::vector<std::size_t>& rows) {
  CO2s_slope_.clear();
  H2Os_slope_.clear();
  slope_sd_.clear();
  if (choice_.recorded || !source_.axis->there() || !c.volume.known() || in_.Tair == nullptr) {
    return;
  }
  const auto& seconds = source_.axis->seconds;
  CO2s_slope_ = local_slopes(seconds, in_.CO2s, rows, choice_.storage_window_s);
  H2Os_slope_ = local_slopes(seconds, in_.H2Os, rows, choice_.storage_window_s);
  if (choice_.storage && c.noisy) {
    slope_sd_ = local_slope_sds(seconds, rows, choice_.storage_window_s);
  }
}

// Without storage: is the record as steady as the equations take it to be?
void FluxMaker::steady(std::size_t row, const CurveInputs& c, const FluxInput& input,
                       std::size_t at) {
  if (choice_.storage || CO2s_slope_.empty() || std::isnan(CO2s_slope_[at]) || !input.Tair) return;
  const double moles =
      moles_of_air(c.volume.at(row), *input.Tair, input.Patm + c.options.overpressure);
  const double part = storage_A(moles, input.area, input.CO2s, CO2s_slope_[at], input.H2Os,
                                std::isnan(H2Os_slope_[at]) ? 0 : H2Os_slope_[at]);
  if (!(std::abs(part) > choice_.steady_limit)) return;
  out_.flags[row] |= std::uint32_t{1}
                     << (screen_flag_shift + static_cast<unsigned>(ScreenRule::not_steady));
  if (unsteady_++ == 0) {
    unsteady_text_ = line_text(source_.log->table().row_place(row)) + ": storage would add " +
                     print_rounded(part, 3) + " umol m-2 s-1 to A";
  }
}

bool FluxMaker::fill(std::size_t row, FluxInput& input) {
  const std::string fault = in_.why_not(row);
  if (!fault.empty()) {
    out_.leave_out(row, fault);
    return false;
  }
  in_.fill(row, input);
  return true;
}

Result<FluxResult> FluxMaker::result_of(std::size_t row, const FluxInput& input,
                                        const FluxOptions& options) const {
  if (!choice_.recorded) return flux(input, options);
  FluxResult out;
  out.E = in_.E->values[row];
  out.A = in_.A->values[row];
  out.CO2s_moist =
      options.co2_per == Co2Per::moist_air ? input.CO2s : moist_fraction(input.CO2s, input.H2Os);
  const auto leaf = leaf_state(
      out.E, out.A, {out.CO2s_moist, input.H2Os, input.Tleaf, input.Patm, input.gbw}, options);
  if (!leaf) return fail(leaf.error());
  out.leaf = *leaf;
  if (input.Tair && *input.Tair > -20 && *input.Tair < 80) {
    const double P = input.Patm + options.overpressure;
    out.RHs = humidity_from_water(
        input.H2Os,
        saturation_pressure(options.vapour_pressure, options.enhancement, *input.Tair, P), P);
  }
  return out;
}

void FluxMaker::keep(std::size_t row, const FluxInput& input, const FluxResult& result) {
  out_.E[row] = result.E;
  out_.A[row] = result.A;
  out_.VPDleaf[row] = result.leaf.VPDleaf;
  out_.CO2s[row] = result.CO2s_moist;
  out_.area[row] = input.area;
  if (result.leaf.gsw) out_.gsw[row] = *result.leaf.gsw;
  if (result.leaf.Ci) {
    out_.Ci[row] = *result.leaf.Ci;
  } else {
    out_.leave_out(row, std::string("no Ci: ") + no_leaf_text(result.leaf.why));
  }
}

void FluxMaker::keep_noise(std::size_t row, const FluxNoise& noise) {
  if (!out_.noisy) {
    out_.noisy = true;
    for (auto* column : {&out_.E_sd, &out_.A_sd, &out_.gsw_sd, &out_.Ci_sd, &out_.cov_A_Ci}) {
      column->assign(out_.size(), missing);
    }
    out_.noise_not_stated = noise.not_stated;
  }
  // A spread of exactly 0 is one of which no part was stated: not known, not none.
  if (noise.E > 0) out_.E_sd[row] = noise.E;
  if (noise.A > 0) out_.A_sd[row] = noise.A;
  if (noise.gsw.value_or(0) > 0) out_.gsw_sd[row] = *noise.gsw;
  if (noise.Ci.value_or(0) > 0) out_.Ci_sd[row] = *noise.Ci;
  if (noise.cov_A_Ci) out_.cov_A_Ci[row] = *noise.cov_A_Ci;
}

void FluxMaker::keep_flags(std::size_t row, const std::vector<RaisedFlag>& raised) {
  for (const RaisedFlag& flag : raised) {
    const auto at = static_cast<std::size_t>(flag.flag);
    out_.flags[row] |= std::uint32_t{1} << static_cast<unsigned>(flag.flag);
    if (flag_counts_[at]++ > 0) continue;
    flag_notes_[at] = flag.note();
    flag_notes_[at].text =
        "first at " + line_text(source_.log->table().row_place(row)) + ": " + flag_notes_[at].text;
  }
}

void FluxMaker::compute(std::size_t row, CurveInputs& c, FluxInput& input) {
  const auto result = result_of(row, input, c.options);
  if (!result) {
    out_.leave_out(row, result.error().found);
    return;
  }
  keep(row, input, *result);
  const FluxNoise* noise = nullptr;
  Result<FluxNoise> made = fail(ErrorCode::unfit, "");
  if (c.noisy && !choice_.recorded) {
    made = flux_noise(input, c.options, c.sd);
    if (made) {
      keep_noise(row, *made);
      noise = &*made;
    }
  }
  if (const auto raised = flux_flags(input, c.options, *result, noise, choice_.flags)) {
    keep_flags(row, *raised);
  }
}

Result<void> FluxMaker::curve(const std::string& id, const std::vector<std::size_t>& rows) {
  auto c = in_.curve(id, rows, out_.sources);
  if (!c) return fail(c.error());
  slopes(*c, rows);
  FluxInput input;
  for (std::size_t i = 0; i < rows.size(); ++i) {
    const std::size_t row = rows[i];
    if (done_++ % progress_rows == 0) {
      report_progress(progress_,
                      static_cast<double>(done_) / static_cast<double>(source_.log->rows()),
                      "fluxes");
    }
    in_.fill_curve(row, *c, input);
    out_.Tleaf[row] = input.Tleaf;
    out_.Patm[row] = input.Patm;
    if (!fill(row, input)) continue;
    const std::string lacking = in_.lacking(row, input);
    if (!lacking.empty()) {
      out_.leave_out(row, lacking);
      continue;
    }
    steady(row, *c, input, i);
    input.storage.reset();
    if (choice_.storage) {
      if (CO2s_slope_.empty() || std::isnan(CO2s_slope_[i]) || std::isnan(H2Os_slope_[i])) {
        out_.leave_out(row, "storage: too few rows in " + print_number(choice_.storage_window_s) +
                                " s about this one to know how fast CO2s and H2Os change");
        continue;
      }
      input.storage =
          Storage{c->volume.at(row), input.Tair.value_or(missing), CO2s_slope_[i], H2Os_slope_[i]};
      if (!slope_sd_.empty()) {
        const auto sd_of = [&](NoisyInput value, NoisyInput slope) {
          if (c->sd[value]) c->sd[slope] = *c->sd[value] * slope_sd_[i];
        };
        sd_of(NoisyInput::CO2s, NoisyInput::dCO2s_dt);
        sd_of(NoisyInput::H2Os, NoisyInput::dH2Os_dt);
      }
    }
    compute(row, *c, input);
  }
  return {};
}

void FluxMaker::finish() {
  for (std::size_t i = 0; i < flag_counts_.size(); ++i) {
    if (flag_counts_[i] == 0) continue;
    Note note = flag_notes_[i];
    note.text = counted(flag_counts_[i], "row") + " flagged; " + note.text;
    out_.notes.push_back(std::move(note));
  }
  if (unsteady_ > 0) {
    out_.notes.push_back({NoteLevel::caution, "not-steady",
                          counted(unsteady_, "row") +
                              " are not at steady state (first: " + unsteady_text_ +
                              ", the limit is " + print_number(choice_.steady_limit) +
                              "); --storage on adds it, or leave these rows out"});
  }
  for (const ValueSource& source : out_.sources) {
    if (!source.disagree) continue;
    std::string of;
    if (!(source.curves.size() == 1 && source.curves.front().empty())) {
      of = " for " + join(source.curves, ", ", 5);
    }
    out_.notes.push_back({NoteLevel::caution, source.quantity + "-sources-disagree",
                          source.quantity + " of the " + value_from_name(source.from) + ", " +
                              source.text + ", was used" + of + "; " + join(source.others, ", ")});
  }
}

Result<FluxRows> FluxMaker::make() {
  if (auto ok = in_.find_columns(); !ok) return fail(ok.error());
  prepare();
  for (const CutCurve& one : source_.cut->curves) {
    if (auto ok = curve(one.curve_id, one.rows); !ok) return fail(ok.error());
  }
  std::vector<std::size_t> rest;
  for (std::size_t row = 0; row < source_.log->rows(); ++row) {
    if (source_.cut->curve_of[row] == Cut::no_curve) rest.push_back(row);
  }
  if (!rest.empty()) {
    for (const std::size_t row : rest) out_.leave_out(row, "belongs to no curve");
    if (auto ok = curve("", rest); !ok) return fail(ok.error());
  }
  in_.honour_use(out_);
  out_.notes.insert(out_.notes.begin(), in_.notes.begin(), in_.notes.end());
  finish();
  return std::move(out_);
}

}  // namespace

void FluxRows::leave_out(std::size_t row, const std::string& reason) {
  use[row] = 0;
  if (why[row] != 0) return;
  if (last_index_ == 0 || last_reason_ != reason) {
    reasons.push_back(reason);
    last_index_ = static_cast<std::uint32_t>(reasons.size() - 1);
    last_reason_ = reason;
  }
  why[row] = last_index_;
}

std::string FluxRows::flag_names(std::size_t row) const {
  std::string out;
  std::uint32_t bits = flags[row];
  for (unsigned i = 0; bits != 0; ++i, bits >>= 1U) {
    if ((bits & 1U) == 0) continue;
    if (!out.empty()) out += ' ';
    out += i < screen_flag_shift ? flux_flag_name(static_cast<FluxFlag>(i))
                                 : screen_rule(static_cast<ScreenRule>(i - screen_flag_shift)).name;
  }
  return out;
}

Result<FluxRows> flux_rows(const FluxSource& source, const FluxChoice& choice,
                           const Progress& progress) {
  return FluxMaker(source, choice, progress).make();
}

}  // namespace leafwright

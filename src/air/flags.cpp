#include "air/flags.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <utility>

#include "air/vapour.hpp"

namespace leafwright {
namespace {

constexpr std::string_view practice = "common practice, no source";
constexpr std::string_view gradient = "derived: vapour diffuses from the moister to the drier air";
constexpr std::string_view diffusion =
    "derived: CO2 diffuses from the higher to the lower fraction";

constexpr std::array<std::string_view, 10> names = {
    "condensation",  "humid",        "vpd-not-positive", "boundary-too-small", "gsw-not-positive",
    "gsw-near-zero", "ci-uncertain", "negative-ci",      "ci-above-ca",        "outside-form"};

class Judge {
 public:
  Judge(const FluxInput& in, const FluxOptions& options, const FluxResult& result,
        const FlagLimits& limits)
      : in_(in), options_(options), result_(result), limits_(limits) {}

  void condensation() {
    const double P = in_.Patm + options_.overpressure;
    const double e = in_.H2Os / 1000 * P / enhancement_factor(options_.enhancement, P);
    const auto dew = dew_point(options_.vapour_pressure, e);
    if (!dew) return;  // dry air condenses nowhere
    const bool stated = limits_.coolest_wall.has_value();
    const double wall =
        stated ? *limits_.coolest_wall : std::min(in_.Tleaf, in_.Tair.value_or(in_.Tleaf));
    if (*dew < wall) return;
    raise(FluxFlag::condensation, NoteLevel::warning,
          fmt::format("the chamber's air has its dew point at {:.2f} degC, and {} {:.2f} degC: "
                      "water that condenses is missing from E",
                      *dew, stated ? "the coolest wall is at" : "the cooler of air and leaf is at",
                      wall),
          "derived: water condenses on what is colder than the dew point");
  }

  void humid() {
    if (!result_.RHs || *result_.RHs <= limits_.rh) return;
    raise(FluxFlag::humid, NoteLevel::caution,
          fmt::format("relative humidity in the chamber is {:.1f} %, above {:g} %: walls and tubes "
                      "may be wet, and VPD is small against its error",
                      *result_.RHs, limits_.rh),
          practice);
  }

  void missing() {
    const LeafState& leaf = result_.leaf;
    switch (leaf.why) {
      case NoLeaf::vpd_not_positive:
        raise(FluxFlag::vpd_not_positive, NoteLevel::warning,
              fmt::format("VPDleaf is {:.3f} kPa: no gradient drives E = {:.3f} mmol m-2 s-1, so "
                          "there is no gsw and no Ci; look at Tleaf",
                          leaf.VPDleaf, result_.E),
              gradient);
        break;
      case NoLeaf::boundary_too_small:
        raise(FluxFlag::boundary_too_small, NoteLevel::warning,
              fmt::format("gtw = {:.0f} is not below what gbw = {:.0f} mmol m-2 s-1 lets through, "
                          "so there is no gsw and no Ci; look at gbw, what it is, and Tleaf",
                          leaf.gtw.value_or(0), in_.gbw.value_or(0)),
              "derived: conductances in series are below each of them");
        break;
      case NoLeaf::gsw_not_positive:
        raise(FluxFlag::gsw_not_positive, NoteLevel::warning,
              fmt::format("gsw is {:.2f} mmol m-2 s-1, not positive, so there is no Ci",
                          leaf.gsw.value_or(0)),
              gradient);
        break;
      case NoLeaf::none:
      case NoLeaf::no_gbw:
        break;
    }
  }

  void uncertain(const FluxNoise* noise) {
    const LeafState& leaf = result_.leaf;
    if (noise == nullptr || !leaf.Ci) return;
    if (noise->gsw && *leaf.gsw < limits_.gsw_in_sd * *noise->gsw)
      raise(FluxFlag::gsw_near_zero, NoteLevel::warning,
            fmt::format("gsw is {:.2f} with a standard deviation of {:.2f} mmol m-2 s-1, less than "
                        "{:g} of them from 0: Ci = {:.0f} is not determined",
                        *leaf.gsw, *noise->gsw, limits_.gsw_in_sd, *leaf.Ci),
            "derived from the stated noise; the number of standard deviations is a convention");
    if (noise->Ci && *noise->Ci > limits_.Ci_sd)
      raise(FluxFlag::Ci_uncertain, NoteLevel::caution,
            fmt::format("Ci is {:.0f} with a standard deviation of {:.1f} umol mol-1, above {:g} "
                        "(gsw {:.1f} mmol m-2 s-1)",
                        *leaf.Ci, *noise->Ci, limits_.Ci_sd, *leaf.gsw),
            "derived from the stated noise; the limit is common practice, no source");
  }

  void impossible_Ci() {
    const LeafState& leaf = result_.leaf;
    if (!leaf.Ci) return;
    if (*leaf.Ci < 0)
      raise(FluxFlag::negative_Ci, NoteLevel::warning,
            fmt::format("Ci is {:.1f} umol mol-1: A = {:.2f} is more than gsw = {:.1f} mmol m-2 "
                        "s-1 lets in",
                        *leaf.Ci, result_.A, *leaf.gsw),
            "derived: a mole fraction is not negative");
    if (*leaf.Ci > result_.CO2s_moist && result_.A > 0)
      raise(FluxFlag::Ci_above_Ca, NoteLevel::warning,
            fmt::format("Ci is {:.1f}, above {:.1f} umol mol-1 in the chamber, though A is {:.2f}",
                        *leaf.Ci, result_.CO2s_moist, result_.A),
            diffusion);
  }

  void outside_form() {
    const VapourPressureForm& form = vapour_pressure_form(options_.vapour_pressure);
    if (in_.Tleaf >= form.low && in_.Tleaf <= form.high) return;
    raise(FluxFlag::outside_form, NoteLevel::caution,
          fmt::format(
              "Tleaf is {:.2f} degC; the form {} is for {:g} to {:g} degC (range from memory)",
              in_.Tleaf, form.name, form.low, form.high),
          form.citation);
  }

  std::vector<RaisedFlag> take() {
    std::stable_sort(raised_.begin(), raised_.end(),
                     [](const auto& a, const auto& b) { return a.flag < b.flag; });
    return std::move(raised_);
  }

 private:
  void raise(FluxFlag flag, NoteLevel level, std::string reason, std::string_view source) {
    raised_.push_back({flag, level, std::move(reason), source});
  }

  const FluxInput& in_;
  const FluxOptions& options_;
  const FluxResult& result_;
  const FlagLimits& limits_;
  std::vector<RaisedFlag> raised_;
};

Result<void> check_limits(const FlagLimits& limits) {
  const auto fine = [](double limit) { return limit > 0 && std::isfinite(limit); };
  const bool positive = fine(limits.rh) && fine(limits.Ci_sd) && fine(limits.gsw_in_sd);
  const bool wall = !limits.coolest_wall || std::isfinite(*limits.coolest_wall);
  if (positive && wall) return {};
  return fail(ErrorCode::usage, "a limit for flags is not positive or not a number",
              "expected positive limits, and the coolest wall in degC",
              "leave a limit out to have its default");
}

}  // namespace

std::string_view flux_flag_name(FluxFlag flag) {
  return names[static_cast<std::size_t>(flag)];
}

Note RaisedFlag::note() const {
  return {level, std::string(flux_flag_name(flag)), fmt::format("{} [{}]", reason, source)};
}

Result<std::vector<RaisedFlag>> flux_flags(const FluxInput& input, const FluxOptions& options,
                                           const FluxResult& result, const FluxNoise* noise,
                                           const FlagLimits& limits) {
  if (const auto fits = check_limits(limits); !fits) return tl::make_unexpected(fits.error());
  Judge judge(input, options, result, limits);
  judge.condensation();
  judge.humid();
  judge.missing();
  judge.uncertain(noise);
  judge.impossible_Ci();
  judge.outside_form();
  return judge.take();
}

}  // namespace leafwright

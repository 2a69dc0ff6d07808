#include "air/noise.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <string>

#include "air/shown.hpp"

namespace leafwright {
namespace {

constexpr std::array<std::string_view, noisy_input_count> names = {
    "CO2r", "CO2s", "H2Or", "H2Os", "flow", "area", "Tleaf", "Patm", "gbw", "dCO2s_dt", "dH2Os_dt"};

// Steps of the differences: about the cube root of the rounding error, times the size of the value
// or, near 0, of a usual one.
constexpr double relative_step = 1e-5;
constexpr std::array<double, noisy_input_count> usual = {100, 100, 10,   10, 100, 1,
                                                         10,  100, 1000, 1,  0.1};

// Where the input stands in the record; null where this record has none.
double* place(FluxInput& in, NoisyInput input) {
  switch (input) {
    case NoisyInput::CO2r:
      return &in.CO2r;
    case NoisyInput::CO2s:
      return &in.CO2s;
    case NoisyInput::H2Or:
      return &in.H2Or;
    case NoisyInput::H2Os:
      return &in.H2Os;
    case NoisyInput::flow:
      return &in.flow;
    case NoisyInput::area:
      return &in.area;
    case NoisyInput::Tleaf:
      return &in.Tleaf;
    case NoisyInput::Patm:
      return &in.Patm;
    case NoisyInput::gbw:
      return in.gbw ? &*in.gbw : nullptr;
    case NoisyInput::dCO2s_dt:
      return in.storage ? &in.storage->dCO2s_dt : nullptr;
    case NoisyInput::dH2Os_dt:
      return in.storage ? &in.storage->dH2Os_dt : nullptr;
  }
  return nullptr;
}

using Outputs = std::array<std::optional<double>, flux_output_count>;

Outputs outputs_of(const FluxResult& result) {
  return {result.E, result.A, result.leaf.gsw, result.leaf.Ci};
}

Result<Outputs> outputs_at(const FluxInput& input, NoisyInput which, double value,
                           const FluxOptions& options) {
  FluxInput moved = input;
  *place(moved, which) = value;
  const auto result = flux(moved, options);
  if (!result) return tl::make_unexpected(result.error());
  return outputs_of(*result);
}

// Derivatives of the outputs that the record has, times sd. An output that is gone a step away
// (Ci beside gsw = 0) is taken from `at`: it has no derivative there.
Result<void> vary(const FluxInput& input, NoisyInput which, double sd, const FluxOptions& options,
                  Outputs& at, std::array<double, flux_output_count>& moved) {
  FluxInput copy = input;
  const double value = *place(copy, which);
  const std::size_t k = static_cast<std::size_t>(which);
  const double step = relative_step * std::max(std::abs(value), usual[k]);
  const auto above = outputs_at(input, which, value + step, options);
  if (!above) return tl::make_unexpected(above.error());
  const auto below = outputs_at(input, which, value - step, options);
  if (!below) return tl::make_unexpected(below.error());
  // The step that was really taken, rounding included.
  const double width = (value + step) - (value - step);
  for (std::size_t i = 0; i < flux_output_count; ++i) {
    if (!at[i]) continue;
    if ((*above)[i] && (*below)[i])
      moved[i] = (*(*above)[i] - *(*below)[i]) / width * sd;
    else
      at[i].reset();
  }
  return {};
}

Result<void> check_sd(const InputSd& sd) {
  for (std::size_t k = 0; k < noisy_input_count; ++k)
    if (sd.sd[k] && !(*sd.sd[k] >= 0 && std::isfinite(*sd.sd[k])))
      return fail(ErrorCode::usage,
                  fmt::format("the standard deviation of {} is {}", names[k], shown(*sd.sd[k])),
                  "expected 0 or more", "leave it out where it is not known");
  return {};
}

}  // namespace

std::string_view noisy_input_name(NoisyInput input) {
  return names[static_cast<std::size_t>(input)];
}

double FluxNoise::covariance(FluxOutput a, FluxOutput b) const {
  double sum = 0;
  for (const auto& row : moved)
    sum += row[static_cast<std::size_t>(a)] * row[static_cast<std::size_t>(b)];
  return sum;
}

Result<FluxNoise> flux_noise(const FluxInput& input, const FluxOptions& options,
                             const InputSd& sd) {
  if (const auto fits = check_sd(sd); !fits) return tl::make_unexpected(fits.error());
  const auto result = flux(input, options);
  if (!result) return tl::make_unexpected(result.error());
  Outputs at = outputs_of(*result);

  FluxNoise noise;
  FluxInput probe = input;
  for (std::size_t k = 0; k < noisy_input_count; ++k) {
    const auto which = static_cast<NoisyInput>(k);
    if (place(probe, which) == nullptr) continue;
    if (!sd.sd[k]) {
      noise.not_stated.push_back(which);
      continue;
    }
    const auto varied = vary(input, which, *sd.sd[k], options, at, noise.moved[k]);
    if (!varied) return tl::make_unexpected(varied.error());
  }
  for (auto& moved : noise.moved)
    for (std::size_t i = 0; i < flux_output_count; ++i)
      if (!at[i]) moved[i] = 0;
  const auto spread = [&](FluxOutput out) { return std::sqrt(noise.covariance(out, out)); };
  noise.E = spread(FluxOutput::E);
  noise.A = spread(FluxOutput::A);
  if (at[static_cast<std::size_t>(FluxOutput::gsw)]) noise.gsw = spread(FluxOutput::gsw);
  if (at[static_cast<std::size_t>(FluxOutput::Ci)]) {
    noise.Ci = spread(FluxOutput::Ci);
    noise.cov_A_Ci = noise.covariance(FluxOutput::A, FluxOutput::Ci);
  }
  return noise;
}

}  // namespace leafwright

#include "plan/source.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>
#include <stdexcept>
#include <utility>

#include "base/number.hpp"

namespace leafwright {
namespace {

/// q(x) of the header.
double settled(const SourceSegment& s, double x, double tau) {
  return s.value + s.slope * (x - tau) + s.curve * (x * x - 2 * tau * x + 2 * tau * tau);
}

double segment_response(const SourceSegment& s, double begin, double x, double tau) {
  if (tau <= 0) return s.value + s.slope * x + s.curve * x * x;
  return settled(s, x, tau) + (begin - settled(s, 0, tau)) * std::exp(-x / tau);
}

/// Puts a hold at `value` behind what is there; returns when it ends.
double add_hold(SourceProgramme& out, double from, double value, double seconds) {
  out.segments.push_back({from, value, 0, 0});
  return from + seconds;
}

double add_ramp(SourceProgramme& out, double from, const SourceSettings& s, double c0, double c1) {
  const double seconds = 60 * std::abs(c1 - c0) / s.rate;
  const double bend = 4 * s.bow / seconds;
  out.segments.push_back({from, c0, (c1 - c0) / seconds + bend, -bend / seconds});
  return from + seconds;
}

Result<void> check(const SourceSettings& s) {
  const auto bad = [](const char* what, double value, const char* expected) {
    return fail(ErrorCode::usage, std::string(what) + " of " + print_number(value), expected);
  };
  if (!(s.start >= 0)) return bad("CO2 at the start", s.start, "0 umol mol-1 or more");
  const bool ramped = s.shape == SourceShape::ramp || s.shape == SourceShape::there_and_back;
  if (ramped && !(s.end >= 0)) return bad("CO2 at the end", s.end, "0 umol mol-1 or more");
  if (ramped && s.end == s.start) {
    return bad("CO2 at the end", s.end, "another CO2 than at the start of the ramp");
  }
  if (ramped && !(s.rate > 0)) return bad("rate", s.rate, "more than 0 umol mol-1 min-1");
  if (!(s.hold_before >= 0)) return bad("hold before", s.hold_before, "0 s or more");
  if (!(s.hold_after >= 0)) return bad("hold after", s.hold_after, "0 s or more");
  if (!(s.hold_turn >= 0)) return bad("hold at the turn", s.hold_turn, "0 s or more");
  if (!(s.time_constant >= 0)) return bad("time constant", s.time_constant, "0 s or more");
  if (!(s.ripple_period > 0)) return bad("ripple period", s.ripple_period, "more than 0 s");
  if (s.shape != SourceShape::steps) return {};
  if (s.steps.empty()) return fail(ErrorCode::usage, "no steps", "a list of CO2 to step through");
  if (!(s.step_length > 0)) return bad("step length", s.step_length, "more than 0 s");
  for (const double step : s.steps) {
    if (!(step >= 0)) return bad("step", step, "0 umol mol-1 or more");
  }
  return {};
}

}  // namespace

const char* source_shape_name(SourceShape shape) {
  switch (shape) {
    case SourceShape::hold:
      return "hold";
    case SourceShape::ramp:
      return "ramp";
    case SourceShape::there_and_back:
      return "there-and-back";
    case SourceShape::steps:
      return "steps";
  }
  throw std::logic_error("source_shape_name: no such shape");
}

Result<SourceProgramme> source_programme(const SourceSettings& s) {
  if (auto ok = check(s); !ok) return fail(ok.error());
  SourceProgramme out;
  out.time_constant = s.time_constant;
  out.ripple = s.ripple;
  out.ripple_period = s.ripple_period;
  double t = 0;
  if (s.shape == SourceShape::steps) {
    for (const double step : s.steps) t = add_hold(out, t, step, s.step_length);
    out.length = t;
    return out;
  }
  t = add_hold(out, t, s.start, s.hold_before);
  if (s.shape != SourceShape::hold) {
    t = add_ramp(out, t, s, s.start, s.end);
    if (s.shape == SourceShape::there_and_back) {
      t = add_hold(out, t, s.end, s.hold_turn);
      t = add_ramp(out, t, s, s.end, s.start);
    }
    t = add_hold(out, t, s.shape == SourceShape::ramp ? s.end : s.start, s.hold_after);
  }
  out.length = t;
  if (!(t > 0)) return fail(ErrorCode::usage, "a programme without length", "a hold or a ramp");
  return out;
}

Source::Source(SourceProgramme programme) : programme_(std::move(programme)) {
  const auto& segments = programme_.segments;
  if (segments.empty()) throw std::logic_error("Source: no segments");
  begins_.push_back(segments.front().value);
  for (std::size_t i = 1; i < segments.size(); ++i) {
    const double x = segments[i].start - segments[i - 1].start;
    if (x < 0) throw std::logic_error("Source: segments not in order of time");
    begins_.push_back(
        segment_response(segments[i - 1], begins_.back(), x, programme_.time_constant));
  }
}

double Source::at(double t) const {
  const auto& segments = programme_.segments;
  const auto after = std::upper_bound(segments.begin(), segments.end(), t,
                                      [](double v, const SourceSegment& s) { return v < s.start; });
  const auto index = static_cast<std::size_t>(after - segments.begin());
  double value = segments.front().value;
  if (index > 0) {
    const SourceSegment& s = segments[index - 1];
    value = segment_response(s, begins_[index - 1], t - s.start, programme_.time_constant);
  }
  if (programme_.ripple != 0) {
    const double w = 2 * std::numbers::pi / programme_.ripple_period;
    const double lag = w * programme_.time_constant;
    value += programme_.ripple / std::sqrt(1 + lag * lag) * std::sin(w * t - std::atan(lag));
  }
  return value;
}

}  // namespace leafwright

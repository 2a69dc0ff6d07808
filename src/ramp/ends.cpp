#include "ramp/ends.hpp"

#include <algorithm>
#include <cmath>

#include "base/number.hpp"

namespace leafwright {

namespace {

constexpr double shortest_ramp_s = 20;
constexpr double line_from_s = 6, line_to_s = 36;  // of the ramp, for finding its kinks

struct Line {
  double at = 0, slope = 0, time = 0;
};

/// Straight line through CO2r between two times; empty with fewer than four rows.
std::optional<Line> line_through(const RampRecord& record, double from, double to) {
  double n = 0, t = 0, y = 0, tt = 0, ty = 0;
  for (std::size_t i = 0; i < record.size(); ++i) {
    if (record.time_s[i] < from || record.time_s[i] > to || !std::isfinite(record.CO2r[i]))
      continue;
    const double u = record.time_s[i] - from;
    n += 1;
    t += u;
    y += record.CO2r[i];
    tt += u * u;
    ty += u * record.CO2r[i];
  }
  const double det = n * tt - t * t;
  if (n < 4 || !(det > 0)) return std::nullopt;
  const double slope = (n * ty - t * y) / det;
  return Line{(y - slope * t) / n, slope, from};
}

double mean_of_hold(const RampRecord& record, const Stretch& hold) {
  double sum = 0, n = 0;
  for (std::size_t i = hold.first; i <= hold.last; ++i) {
    if (!std::isfinite(record.CO2r[i])) continue;
    sum += record.CO2r[i];
    n += 1;
  }
  return n > 0 ? sum / n : std::nan("");
}

/// Where the line of a ramp meets the hold beside it. The stretch's own limit is a window wide of
/// the kink; the line is not.
double kink(const RampRecord& record, const Stretch& ramp, const Stretch& hold, bool at_start) {
  const double edge = record.time_s[at_start ? ramp.first : ramp.last];
  const double middle = (record.time_s[ramp.first] + record.time_s[ramp.last]) / 2;
  const double inner =
      at_start ? std::min(edge + line_to_s, middle) : std::max(edge - line_to_s, middle);
  const double outer = at_start ? edge + line_from_s : edge - line_from_s;
  const auto line = line_through(record, std::min(inner, outer), std::max(inner, outer));
  const double level = mean_of_hold(record, hold);
  if (!line || line->slope == 0 || !std::isfinite(level)) return edge;
  const double meets = line->time + (level - line->at) / line->slope;
  return std::abs(meets - edge) <= 10 ? meets : edge;
}

std::string seconds(double s) {
  return print_rounded(s, 3) + " s";
}

class EndFinder {
 public:
  EndFinder(const RampRecord& record, const Programme& programme, const EndRule& rule)
      : record_(record), programme_(programme), rule_(rule) {
    ends_.why.assign(record.size(), "");
  }

  Ends find() {
    const auto& all = programme_.stretches;
    for (std::size_t k = 0; k < all.size(); ++k) {
      const bool holds = all[k].kind == Stretch::Kind::hold;
      if (programme_.steps) {
        holds ? step(k) : leave_out(all[k], "CO2r steps");
      } else if (!holds && all[k].seconds >= shortest_ramp_s) {
        ramp(k);
      } else {
        leave_out(all[k], holds ? "CO2r stands still" : "CO2r moves too shortly for a ramp");
      }
    }
    for (RampEnds& one : ends_.ramps) {
      for (std::size_t i = one.stretch.first; i <= one.stretch.last; ++i) {
        if (ends_.why[i].empty()) ++one.kept;
      }
    }
    return std::move(ends_);
  }

 private:
  void leave_out(const Stretch& stretch, const std::string& why) {
    for (std::size_t i = stretch.first; i <= stretch.last; ++i) ends_.why[i] = why;
  }

  void ramp(std::size_t k) {
    const auto& all = programme_.stretches;
    RampEnds one;
    one.stretch = all[k];
    one.start_seen = k > 0;
    one.shown_s = k > 0 && all[k - 1].kind == Stretch::Kind::hold
                      ? kink(record_, all[k], all[k - 1], true)
                      : record_.time_s[all[k].first];
    const double multiple = rule_.least_multiple * rule_.tau_s;
    const double size = std::abs(all[k].rate) * rule_.tau_s;
    const double settling = settling_time(rule_.gain, size, rule_.tau_s, rule_.epsilon);
    const double after = rule_.by_size || !one.start_seen ? std::max(settling, multiple) : multiple;
    one.discard_s = after > 0 ? rule_.delay_s + after : 0;
    if (k + 1 < all.size()) {
      one.stops_s = all[k + 1].kind == Stretch::Kind::hold
                        ? kink(record_, all[k], all[k + 1], false)
                        : record_.time_s[all[k].last];
      one.trim_s = rule_.trim ? std::max(rule_.lag_s, 0.0) + rule_.trim_s : 0;
    }
    mark(one);
  }

  void step(std::size_t k) {
    const auto& all = programme_.stretches;
    RampEnds one;
    one.stretch = all[k];
    one.start_seen = k > 0;
    one.shown_s = record_.time_s[all[k].first];
    if (k > 0) {
      std::size_t before = k - 1;
      while (before > 0 && all[before].kind != Stretch::Kind::hold) --before;
      const double size = mean_of_hold(record_, all[k]) - mean_of_hold(record_, all[before]);
      one.discard_s =
          rule_.delay_s + settling_time(rule_.gain, std::abs(size), rule_.tau_s, rule_.epsilon);
    }
    if (k + 1 < all.size()) {
      one.stops_s = record_.time_s[all[k].last];
      one.trim_s = rule_.trim ? rule_.trim_s : 0;
    }
    mark(one);
  }

  void mark(const RampEnds& one) {
    const double from = one.shown_s + one.discard_s;
    const double to = one.stops_s ? *one.stops_s - one.trim_s : record_.time_s.back();
    for (std::size_t i = one.stretch.first; i <= one.stretch.last; ++i) {
      const double t = record_.time_s[i];
      if (t < from && one.discard_s > 0) {
        ends_.why[i] = "start: the first " + seconds(one.discard_s) + " after CO2r " +
                       (programme_.steps ? "stepped" : "began to move");
      } else if (t > to && one.stops_s) {
        ends_.why[i] = "end: the last " + seconds(one.trim_s) + " before CO2r " +
                       (programme_.steps ? "steps" : "stops");
      }
    }
    ends_.ramps.push_back(one);
  }

  const RampRecord& record_;
  const Programme& programme_;
  const EndRule& rule_;
  Ends ends_;
};

}  // namespace

std::size_t Ends::kept() const {
  return static_cast<std::size_t>(
      std::count_if(why.begin(), why.end(), [](const std::string& text) { return text.empty(); }));
}

double settling_time(double gain, double size, double tau_s, double epsilon) {
  const double ratio = gain * size / epsilon;
  return ratio > 1 ? tau_s * std::log(ratio) : 0;
}

Ends ramp_ends(const RampRecord& record, const Programme& programme, const EndRule& rule) {
  return EndFinder(record, programme, rule).find();
}

}  // namespace leafwright

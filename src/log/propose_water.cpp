#include "log/propose_water.hpp"

#include <algorithm>
#include <cmath>
#include <limits>

namespace leafwright {
namespace {

constexpr double infinity = std::numeric_limits<double>::infinity();
constexpr std::size_t first_rows = 9, enough_of_them = 6;

/// A stream of water as it could be: a reading and, where it is a partial pressure, of which
/// pressure.
struct Stream {
  const Reading* reading = nullptr;
  const Reading* pressure = nullptr;
  Series moist;  ///< mmol mol-1
};

Series logs(const Series& values, double sign = 1) {
  Series out(values.size());
  for (std::size_t i = 0; i < values.size(); ++i) {
    const double v = sign * values[i];
    out[i] = v > 0 ? std::log(v) : std::numeric_limits<double>::quiet_NaN();
  }
  return out;
}

std::vector<Stream> water_streams(const Sampling& sampling,
                                  const std::vector<const Reading*>& pressures) {
  std::vector<Stream> out;
  const auto add = [&](const Reading& reading, const Reading* pressure) {
    Assignment a;
    a.set(Part::Ws, &reading);
    a.set(Part::P, pressure);
    Series moist = moist_stream(a, Part::Ws);
    const double median = median_of(moist);
    if (median > 0.1 && median < 90) out.push_back({&reading, pressure, std::move(moist)});
  };
  for (const Reading& reading : sampling.as(ReadAs::h2o)) {
    if (!reading.partial) {
      add(reading, nullptr);
      continue;
    }
    for (const Reading* pressure : pressures) {
      if (pressure->column != reading.column) add(reading, pressure);
    }
  }
  return out;
}

struct LogReading {
  const Reading* reading = nullptr;
  Series log;
  double median = 0;
  double range = 0;     ///< highest less lowest
  double most_off = 0;  ///< a misfit that is not small beside what changes says nothing
};
std::vector<LogReading> log_readings(const std::vector<Reading>& readings) {
  std::vector<LogReading> out;
  for (const Reading& reading : readings) {
    LogReading one{&reading, logs(reading.values), 0, 0, 0};
    one.most_off = std::min(candidate_tolerance, 0.25 * variation_of(reading.values));
    one.median = median_of(one.log);
    double low = infinity, high = -infinity;
    for (const double v : one.log) {
      if (std::isnan(v)) continue;
      low = std::min(low, v);
      high = std::max(high, v);
    }
    one.range = high - low;
    if (!std::isnan(one.median)) out.push_back(std::move(one));
  }
  return out;
}

/// q = ln(E/x) row by row, for one pair of streams and one E; empty where it cannot be a flow over
/// an area.
struct Quotient {
  Series log;
  double median = 0;
  double central = 0;  ///< range of most of the first rows
};

class WaterSearch {
 public:
  WaterSearch(const Sampling& sampling, std::size_t most)
      : most_(most),
        pressures_(pressures_of(sampling)),
        streams_(water_streams(sampling, pressures_)),
        E_(log_readings(sampling.as(ReadAs::E))),
        F_(log_readings(sampling.as(ReadAs::flow))),
        S_(log_readings(sampling.as(ReadAs::area))) {
    // A flow or an area changes by less than six times within a log.
    const auto wild = [](const LogReading& one) { return one.range > std::log(6.0); };
    std::erase_if(F_, wild);
    std::erase_if(S_, wild);
    std::sort(S_.begin(), S_.end(),
              [](const LogReading& a, const LogReading& b) { return a.median < b.median; });
  }

  template <class Visit>
  void each_quotient(const Visit& visit) const {
    for (const Stream& s : streams_) {
      if (s.reading->constant) continue;
      for (const Stream& r : streams_) {
        if (r.reading->column == s.reading->column) continue;
        if (r.pressure != nullptr && s.pressure != nullptr && r.pressure != s.pressure) continue;
        const Series x = gradient(r, s);
        if (x.empty()) continue;
        for (const LogReading& E : E_) {
          if (E.reading->column == s.reading->column || E.reading->column == r.reading->column) {
            continue;
          }
          const Quotient q = quotient(E, x);
          if (!q.log.empty()) visit(r, s, E, q);
        }
      }
    }
  }

  void consider(const Stream& r, const Stream& s, const LogReading& E, const Quotient& q,
                std::vector<WaterHit>& hits) const {
    for (const LogReading& F : F_) {
      if (F.reading->column == E.reading->column || taken(r, s, F)) continue;
      // ln S = ln F - ln q: areas far off cannot be.
      const double wanted = F.median - q.median;
      auto S =
          std::lower_bound(S_.begin(), S_.end(), wanted - 0.5,
                           [](const LogReading& one, double value) { return one.median < value; });
      for (; S != S_.end() && S->median < wanted + 0.5; ++S) {
        if (S->reading->column == F.reading->column || S->reading->column == E.reading->column ||
            taken(r, s, *S)) {
          continue;
        }
        // What F and S hardly change cannot explain what changes.
        const double reach = F.range + S->range + 4 * candidate_tolerance;
        if (q.central > reach || std::abs(wanted - S->median) > reach) continue;
        const double off = misfit(q.log, F.log, S->log, 0);
        if (off > E.most_off) continue;
        hits.push_back(hit_of(r, s, *E.reading, F, *S, off));
        if (hits.size() > 4 * most_) keep_best(hits);
      }
    }
  }

  void keep_best(std::vector<WaterHit>& hits) const {
    std::stable_sort(hits.begin(), hits.end(),
                     [](const WaterHit& a, const WaterHit& b) { return a.off < b.off; });
    if (hits.size() > most_) hits.resize(most_);
  }

  void consider_factor(const Stream& r, const Stream& s, const LogReading& E, const Quotient& q,
                       std::vector<WaterHit>& hits) const {
    for (const LogReading& F : F_) {
      if (F.reading->stated < 1 || taken(r, s, F)) continue;
      for (const LogReading& S : S_) {
        if (S.reading->stated < 1 || taken(r, s, S)) continue;
        Series d(q.log.size());
        for (std::size_t i = 0; i < d.size(); ++i) d[i] = q.log[i] - F.log[i] + S.log[i];
        const double shift = median_of(d);
        if (std::isnan(shift) || std::abs(shift) > std::log(20.0)) continue;
        const double off = misfit(q.log, F.log, S.log, shift);
        // A factor out of the air has to hold better than a unit that exists.
        if (off > 0.1 * candidate_tolerance) continue;
        WaterHit hit = hit_of(r, s, *E.reading, F, S, off);
        hit.a.factor = std::exp(shift);
        hits.push_back(hit);
        if (hits.size() > 4 * most_) keep_best(hits);
      }
    }
  }

 private:
  static bool taken(const Stream& r, const Stream& s, const LogReading& one) {
    return one.reading->column == r.reading->column || one.reading->column == s.reading->column;
  }

  /// ln of 10 (Ws - Wr)/(1000 - Ws); empty where it is hardly ever above 0.
  static Series gradient(const Stream& r, const Stream& s) {
    Series x(s.moist.size());
    std::size_t above = 0, there = 0;
    for (std::size_t i = 0; i < x.size(); ++i) {
      x[i] = 10 * (s.moist[i] - r.moist[i]) / (1000 - s.moist[i]);
      there += std::isnan(x[i]) ? 0U : 1U;
      above += x[i] > 0 ? 1U : 0U;
      if (i == first_rows && 2 * above < there) return {};
    }
    if (there < 8 || 10 * above < 8 * there) return {};
    return logs(x);
  }

  /// Flow and area change by less than six times over most of a log.
  static Quotient quotient(const LogReading& E, const Series& x) {
    Quotient q;
    q.log.resize(x.size());
    Series first;
    for (std::size_t i = 0; i < x.size(); ++i) {
      q.log[i] = E.log[i] - x[i];
      if (first.size() < 15 && !std::isnan(q.log[i])) first.push_back(q.log[i]);
    }
    if (first.size() < 8) return {};
    std::sort(first.begin(), first.end());
    const std::size_t cut = first.size() / 5;
    q.central = first[first.size() - 1 - cut] - first[cut];
    if (q.central > std::log(6.0)) return {};
    q.median = first[first.size() / 2];
    return q;
  }

  /// Median of |F/(S q) - 1| with ln of it moved by `shift`; infinite where the first rows say no.
  static double misfit(const Series& q, const Series& F, const Series& S, double shift) {
    std::size_t seen = 0, far = 0;
    for (std::size_t i = 0; i < q.size() && seen < first_rows; ++i) {
      const double d = std::abs(q[i] - F[i] + S[i] - shift);
      if (std::isnan(d)) continue;
      ++seen;
      if (d >= 1.5 * candidate_tolerance && ++far > first_rows - enough_of_them) return infinity;
    }
    Series off;
    off.reserve(q.size());
    for (std::size_t i = 0; i < q.size(); ++i) {
      const double d = q[i] - F[i] + S[i] - shift;
      if (!std::isnan(d)) off.push_back(std::abs(d));
    }
    return off.size() < 8 || 5 * off.size() < 3 * q.size() ? infinity : median_of(off);
  }

  static WaterHit hit_of(const Stream& r, const Stream& s, const Reading& E, const LogReading& F,
                         const LogReading& S, double off) {
    WaterHit hit;
    hit.a.set(Part::Wr, r.reading);
    hit.a.set(Part::Ws, s.reading);
    hit.a.set(Part::E, &E);
    hit.a.set(Part::F, F.reading);
    hit.a.set(Part::S, S.reading);
    hit.a.set(Part::P, s.pressure != nullptr ? s.pressure : r.pressure);
    hit.off = off;
    return hit;
  }

  std::size_t most_;
  std::vector<const Reading*> pressures_;
  std::vector<Stream> streams_;
  std::vector<LogReading> E_, F_, S_;
};

/// Do the first rows speak for it?
bool first_rows_agree(const Series& made, const Series& recorded, double scale) {
  std::size_t seen = 0, near = 0;
  for (std::size_t i = 0; i < made.size() && seen < first_rows; ++i) {
    if (std::isnan(made[i]) || std::isnan(recorded[i])) continue;
    ++seen;
    near += std::abs(made[i] - recorded[i]) < 3 * candidate_tolerance * scale ? 1U : 0U;
  }
  return near >= enough_of_them;
}

struct ScaledA {
  const Reading* reading = nullptr;
  double scale = 0;
  double most_off = 0;
};

}  // namespace

std::vector<const Reading*> pressures_of(const Sampling& sampling) {
  std::vector<const Reading*> out;
  for (const Reading& reading : sampling.as(ReadAs::pressure)) {
    double low = infinity, high = 0;
    for (const double v : reading.values) {
      if (std::isnan(v)) continue;
      low = std::min(low, v);
      high = std::max(high, v);
    }
    if (high < 1.2 * low && out.size() < 8) out.push_back(&reading);
  }
  return out;
}

std::vector<WaterHit> search_water(const Sampling& sampling, std::size_t most) {
  const WaterSearch search(sampling, most);
  std::vector<WaterHit> hits;
  search.each_quotient([&](const Stream& r, const Stream& s, const LogReading& E,
                           const Quotient& q) { search.consider(r, s, E, q, hits); });
  search.keep_best(hits);
  return hits;
}

std::vector<WaterHit> search_water_factor(const Sampling& sampling, std::size_t most) {
  const WaterSearch search(sampling, most);
  std::vector<WaterHit> hits;
  search.each_quotient([&](const Stream& r, const Stream& s, const LogReading& E,
                           const Quotient& q) { search.consider_factor(r, s, E, q, hits); });
  search.keep_best(hits);
  return hits;
}

bool search_carbon(const Sampling& sampling, WaterHit& hit) {
  std::vector<ScaledA> recorded;
  for (const Reading& A : sampling.as(ReadAs::A)) {
    if (hit.a.uses(A.column)) continue;
    Series size;
    for (const double v : A.values) size.push_back(std::abs(v));
    recorded.push_back({&A, median_of(size), 0.25 * variation_of(A.values)});
    if (recorded.back().most_off < 0.01) recorded.pop_back();
  }
  std::vector<const Reading*> pressures{hit.a.of(Part::P)};
  if (pressures.front() == nullptr) {
    const auto all = pressures_of(sampling);
    pressures.insert(pressures.end(), all.begin(), all.end());
  }
  const Series Wr = moist_stream(hit.a, Part::Wr), Ws = moist_stream(hit.a, Part::Ws);
  const Series &F = hit.a.of(Part::F)->values, &S = hit.a.of(Part::S)->values;
  // Per pressure: the streams as they could be, in moist air at either side.
  Assignment best = hit.a;
  double off = candidate_tolerance;
  for (const Reading* pressure : pressures) {
    Assignment a = hit.a;
    a.set(Part::P, pressure);
    std::vector<std::pair<const Reading*, Series>> references, samples;
    for (const Reading& reading : sampling.as(ReadAs::co2)) {
      if (reading.partial && pressure == nullptr) continue;
      if (hit.a.uses(reading.column)) continue;
      a.set(Part::Cr, &reading);
      a.set(Part::Cs, &reading);
      references.emplace_back(&reading, moist_stream(a, Part::Cr));
      samples.emplace_back(&reading, moist_stream(a, Part::Cs));
    }
    for (const auto& reference : references) {
      for (const auto& sample : samples) {
        if (reference.first->column == sample.first->column || sample.first->constant) continue;
        Series made(F.size());
        for (std::size_t i = 0; i < made.size(); ++i) {
          const double dilution = (1000 - Wr[i]) / (1000 - Ws[i]);
          made[i] = hit.a.factor * F[i] * (reference.second[i] - sample.second[i] * dilution) /
                    (100 * S[i]);
        }
        for (const ScaledA& A : recorded) {
          if (!first_rows_agree(made, A.reading->values, A.scale)) continue;
          const double now = median_off(made, A.reading->values);
          // The first of equals stays: streams in moist air are read before those in dry air.
          if (!(now < off * (1 - 1e-9)) || now > A.most_off) continue;
          // A pressure that only divides CO2 is one more free number: it has to earn its place.
          const bool new_pressure =
              pressure != hit.a.of(Part::P) && (reference.first->partial || sample.first->partial);
          if (new_pressure && best.of(Part::A) != nullptr && !(now < 0.1 * off)) continue;
          off = now;
          best = a;
          best.set(Part::Cr, reference.first);
          best.set(Part::Cs, sample.first);
          best.set(Part::A, A.reading);
          if (!reference.first->partial && !sample.first->partial) {
            best.set(Part::P, hit.a.of(Part::P));
          }
        }
      }
    }
  }
  if (best.of(Part::A) == nullptr) return false;
  hit.a = best;
  hit.off = off;
  return true;
}

}  // namespace leafwright

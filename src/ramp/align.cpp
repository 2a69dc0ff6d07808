#include "ramp/align.hpp"

#include <Eigen/Dense>
#include <algorithm>
#include <array>
#include <cmath>
#include <stdexcept>

#include "air/balance.hpp"
#include "base/number.hpp"
#include "ramp/filter.hpp"
#include "ramp/gas_path_filter.hpp"

namespace leafwright {

namespace {

constexpr std::size_t fewest_rows = 60;
constexpr double least_move = 5;      // umol mol-1: the ramp has begun
constexpr double least_span = 100;    // umol mol-1
constexpr double same_Ci = 0.02;      // umol mol-1: what rounding of a log leaves
constexpr double uncorrected = 0.05;  // umol m-2 s-1: A is the steady or storage balance itself
constexpr double same_steady = 0.1;   // umol m-2 s-1: what rounding of a log leaves
constexpr double same_balance =
    0.25;  // umol m-2 s-1: what smoothing leaves of the balance with storage
constexpr double volume_error = 0.03;  // of the storage term: volumes are stated no better

double hundredth(std::vector<double> values, double part) {
  const auto at = static_cast<std::ptrdiff_t>(part * static_cast<double>(values.size() - 1));
  std::nth_element(values.begin(), values.begin() + at, values.end());
  return values[static_cast<std::size_t>(at)];
}

bool numbers(const std::vector<double>& series) {
  return std::any_of(series.begin(), series.end(), [](double v) { return std::isfinite(v); });
}

Result<void> check(const AlignInput& input) {
  const RampRecord& r = *input.record;
  if (!numbers(r.A_recorded)) {
    return fail(ErrorCode::usage, r.name + " has no recorded A", "a column A of the log",
                "without it there is nothing that CO2s could be late against");
  }
  if (r.H2Or.empty() || r.H2Os.empty() || r.flow.empty() || !r.area || !(input.tau_s > 0)) {
    return fail(ErrorCode::usage,
                r.name + " lacks water, flow, leaf area or the chamber's time constant",
                "all of them, for the balance that A is compared with");
  }
  double low = 1e300, high = -1e300;
  for (const double CO2 : r.CO2r) {
    if (!std::isfinite(CO2)) continue;
    low = std::min(low, CO2);
    high = std::max(high, CO2);
  }
  if (r.size() < fewest_rows || high - low < least_span) {
    return fail(ErrorCode::unfit, r.name + " is too short or too still to show a lag",
                std::to_string(fewest_rows) + " rows and a CO2r that moves by " +
                    print_rounded(least_span, 3) + " umol/mol");
  }
  return {};
}

/// The record and what is compared.
class Search {
 public:
  Search(const AlignInput& input, const AlignOptions& options)
      : options_(options), record_(*input.record) {
    const std::size_t n = record_.size();
    R_ = bridged(record_.time_s, record_.CO2r);
    S_ = bridged(record_.time_s, record_.CO2s);
    A_ = bridged(record_.time_s, record_.A_recorded);
    const bool dry = record_.co2_per == Co2Per::dry_air;
    std::vector<double> difference(n), k(n), dil(n);
    for (std::size_t i = 0; i < n; ++i) {
      const double wet = (1000 - record_.H2Or[i]) / (1000 - record_.H2Os[i]);
      k[i] = record_.flow[i] / (100 * *record_.area) * (dry ? 1 - record_.H2Or[i] / 1000 : 1);
      dil[i] = dry ? 1 : wet;
      difference[i] = k[i] * (R_[i] - dil[i] * S_[i]);
      k[i] = std::isfinite(difference[i]) ? k[i] : 0;
    }
    steady_ = difference;
    gain_ = k;
    const auto slow = twice(bridged(record_.time_s, difference)), S = twice(S_);
    double size = 0;
    const auto dR = slope(R_), dS = slope(S_);
    for (std::size_t i = 0; i < n; ++i) {
      balance_.push_back(slow[i] - k[i] * input.tau_s * dS[i]);
      size += std::pow(k[i] * input.tau_s * dS[i], 2);
      columns_.push_back({1, S[i] / 1000, k[i] * dR[i]});
    }
    storage_ = std::sqrt(size / static_cast<double>(n));
    // At the kink where a ramp begins the columns' own averages differ most, and hide the lag.
    std::size_t first = 0, last = n - 1;
    while (first + 1 < n && std::abs(R_[first] - R_.front()) < least_move) ++first;
    while (last > first && std::abs(R_[last] - R_.back()) < least_move) --last;
    begin_ = record_.time_s[first] + 3 * options.smoothing_s + options.longest_mean_s;
    end_ = record_.time_s[last] - options.longest_mean_s / 2;
  }

  struct Trial {
    double late = 0, mean = 0, ssr = 1e300;
    Eigen::Vector3d linear;
  };

  Trial best() {
    Trial best;
    const auto try_all = [&](double from, double to, double step, double mean_from, double mean_to,
                             double mean_step) {
      for (double late = from; late <= to + 1e-9; late += step) {
        for (double mean = mean_from; mean <= mean_to + 1e-9; mean += mean_step) {
          const Trial now = at(late, mean);
          trials_.push_back(now);
          if (now.ssr < best.ssr) best = now;
        }
      }
    };
    if (options_.late_s) {
      try_all(*options_.late_s, *options_.late_s, 1, 0, options_.longest_mean_s, 1);
      return best;
    }
    try_all(options_.earliest_s, options_.latest_s, 1, 0, options_.longest_mean_s, 5);
    const Trial coarse = best;
    try_all(coarse.late - 1.5, coarse.late + 1.5, 0.25, std::max(coarse.mean - 5, 0.0),
            coarse.mean + 5, 1);
    return best;
  }

  /// Ranges of the trials whose misfit is within 10 % of the best.
  void ranges(const Trial& best, Alignment& out) const {
    out.late_low = out.late_high = best.late;
    out.mean_low = out.mean_high = best.mean;
    for (const Trial& trial : trials_) {
      if (trial.ssr > 1.21 * best.ssr) continue;
      out.late_low = std::min(out.late_low, trial.late);
      out.late_high = std::max(out.late_high, trial.late);
      out.mean_low = std::min(out.mean_low, trial.mean);
      out.mean_high = std::max(out.mean_high, trial.mean);
    }
  }

  [[nodiscard]] Trial at(double late, double mean) {
    const PathFilter filter(record_.time_s, A_, Interpolation::linear);
    const std::vector<double> model = twice(filter.apply(late, 0, record_.time_s, mean));
    Eigen::Matrix3d XX = Eigen::Matrix3d::Zero();
    Eigen::Vector3d Xy = Eigen::Vector3d::Zero();
    double yy = 0;
    rows_ = 0;
    for (std::size_t i = 0; i < model.size(); ++i) {
      if (!compared(i)) continue;
      const Eigen::Vector3d x(columns_[i][0], columns_[i][1], columns_[i][2]);
      const double y = balance_[i] - model[i];
      XX += x * x.transpose();
      Xy += x * y;
      yy += y * y;
      ++rows_;
    }
    Trial out;
    out.late = late;
    out.mean = mean;
    out.linear = XX.ldlt().solve(Xy);
    out.ssr = std::max(yy - out.linear.dot(Xy), 0.0);
    return out;
  }

  /// Rms of the balance of the columns as they stand against the recorded A.
  [[nodiscard]] double plain() const {
    double sum = 0, n = 0;
    const std::vector<double> A = twice(A_);
    for (std::size_t i = 0; i < A.size(); ++i) {
      if (!compared(i)) continue;
      sum += (balance_[i] - A[i]) * (balance_[i] - A[i]);
      n += 1;
    }
    return std::sqrt(sum / n);
  }
  /// Rms of the storage term over the record, umol m-2 s-1.
  [[nodiscard]] double storage() const { return storage_; }

  /// The recorded A beside the steady balance of its own row, as it stands and less
  /// k (c0 + c1 S + c2 S^2), where the flow or the area may be another by up to 3 %: the 90th
  /// hundredth of what is left.
  [[nodiscard]] double against_steady(double& left, double& shift_low, double& shift_high) const {
    std::vector<double> off, rest;
    std::vector<std::size_t> rows;
    for (std::size_t i = 0; i < steady_.size(); ++i) {
      if (!std::isfinite(record_.A_recorded[i] + steady_[i])) continue;
      rows.push_back(i);
      off.push_back(std::abs(record_.A_recorded[i] - steady_[i]));
    }
    left = 1e300;
    if (rows.size() < fewest_rows) return left;
    const auto n = static_cast<Eigen::Index>(rows.size());
    Eigen::MatrixX4d X(n, 4);
    Eigen::VectorXd y(n);
    double low = 1e300, high = -1e300;
    for (Eigen::Index j = 0; j < n; ++j) {
      const std::size_t i = rows[static_cast<std::size_t>(j)];
      const double x = S_[i] / 1000;
      X.row(j) << -gain_[i], -gain_[i] * x, -gain_[i] * x * x, steady_[i];
      y[j] = record_.A_recorded[i] - steady_[i];
      low = std::min(low, x);
      high = std::max(high, x);
    }
    const Eigen::Vector4d c = X.colPivHouseholderQr().solve(y);
    const Eigen::VectorXd residual = y - X * c;
    for (Eigen::Index j = 0; j < n; ++j) rest.push_back(std::abs(residual[j]));
    left = std::abs(c[3]) < 0.03 ? hundredth(rest, 0.9) : 1e300;
    shift_low = -(c[0] + c[1] * low + c[2] * low * low);
    shift_high = -(c[0] + c[1] * high + c[2] * high * high);
    return hundredth(off, 0.9);
  }

  [[nodiscard]] double rms(const Trial& trial) const {
    return std::sqrt(trial.ssr / static_cast<double>(rows_));
  }
  [[nodiscard]] std::size_t rows() const { return rows_; }

 private:
  [[nodiscard]] std::vector<double> once(const std::vector<double>& y) const {
    return PathFilter(record_.time_s, y, Interpolation::linear)
        .apply(0, options_.smoothing_s, record_.time_s);
  }
  [[nodiscard]] std::vector<double> twice(const std::vector<double>& y) const {
    return once(once(y));
  }
  /// dy/dt through the same two filters: the first-order filter of dy/dt is (y - filtered y)/T.
  [[nodiscard]] std::vector<double> slope(const std::vector<double>& y) const {
    std::vector<double> out = once(y);
    for (std::size_t i = 0; i < y.size(); ++i) out[i] = (y[i] - out[i]) / options_.smoothing_s;
    return once(out);
  }

  /// The same rows for every trial: those whose delayed and averaged A is inside the record.
  [[nodiscard]] bool compared(std::size_t i) const {
    const double t = record_.time_s[i];
    return t >= begin_ && t <= end_ && std::isfinite(record_.A_recorded[i]) &&
           std::isfinite(balance_[i]);
  }

  const AlignOptions& options_;
  const RampRecord& record_;
  std::vector<double> R_, S_, A_, balance_, steady_, gain_;
  double storage_ = 0;
  std::vector<std::array<double, 3>> columns_;
  std::vector<Trial> trials_;
  double begin_ = 0, end_ = 0;
  std::size_t rows_ = 0;
};

double E_of(const AlignInput& input, std::size_t i) {
  const RampRecord& r = *input.record;
  if (!input.E_recorded.empty()) return input.E_recorded[i];
  return steady_E(r.flow[i], *r.area, r.H2Or[i], r.H2Os[i]);
}

/// Ci from the recorded A with CO2s of `CO2s` (as the record counts it).
Result<double> Ci_of(const AlignInput& input, std::size_t i, double CO2s) {
  const RampRecord& r = *input.record;
  const double moist = r.co2_per == Co2Per::dry_air ? CO2s * (1 - r.H2Os[i] / 1000) : CO2s;
  LeafAir air{moist, r.H2Os[i], r.Tleaf[i], r.Patm[i], {}};
  if (input.gbw) {
    air.gbw = input.gbw;
  } else if (i < r.gbw.size() && std::isfinite(r.gbw[i])) {
    air.gbw = r.gbw[i];
  }
  const auto leaf = leaf_state(E_of(input, i), r.A_recorded[i], air, input.air);
  if (!leaf) return fail(leaf.error());
  return leaf->Ci.value_or(std::nan(""));
}

void compare_Ci(const AlignInput& input, Alignment& out) {
  const RampRecord& r = *input.record;
  std::vector<double> off;
  for (std::size_t i = 0; i < r.Ci_recorded.size(); ++i) {
    if (!std::isfinite(r.Ci_recorded[i]) || !std::isfinite(r.A_recorded[i])) continue;
    const auto Ci = Ci_of(input, i, r.CO2s[i]);
    if (Ci && std::isfinite(*Ci)) off.push_back(std::abs(*Ci - r.Ci_recorded[i]));
  }
  if (off.size() < fewest_rows) return;
  out.Ci_off = hundredth(off, 0.5);
  out.Ci_off_90 = hundredth(off, 0.9);
  out.Ci_from_column = *out.Ci_off < same_Ci;
}

void mend(const AlignInput& input, Alignment& out) {
  const RampRecord& r = *input.record;
  const PathFilter S(r.time_s, r.CO2s, Interpolation::linear);
  const double late = out.misaligned ? out.late_s : 0;
  const std::vector<double> advanced = S.apply(-late, 0, r.time_s);
  out.Ci.assign(r.size(), std::nan(""));
  for (std::size_t i = 0; i < r.size(); ++i) {
    if (r.time_s[i] + late > r.time_s.back()) break;  // not in the record any more
    const auto Ci = Ci_of(input, i, advanced[i]);
    if (Ci) out.Ci[i] = *Ci;
  }
}

std::string shown(double value) {
  return print_rounded(value, 3);
}

/// What the recorded A is, in words.
void tell_made(Alignment& out) {
  const auto add = [&out](NoteLevel level, const std::string& text) {
    out.notes.push_back({level, "recorded-a", text});
  };
  if (out.made == RecordedA::steady) {
    add(NoteLevel::info, "the recorded A is the steady balance of these columns, to within " +
                             shown(out.steady_off) +
                             " umol m-2 s-1: no lag was taken out of it, and it is not used");
  } else if (out.made == RecordedA::shifted) {
    add(NoteLevel::caution,
        "the recorded A is the steady balance of these columns with CO2s less CO2r moved by " +
            shown(out.shift_low) + " umol/mol at the lowest CO2s and " + shown(out.shift_high) +
            " at the highest: the cells were equalised, or an empty record was subtracted, in A "
            "and not in the columns. The columns are used, and are corrected once");
  } else if (out.made == RecordedA::balance) {
    add(NoteLevel::info, "the recorded A is the balance with storage of these columns, to within " +
                             shown(out.misfit_as_is) +
                             " umol m-2 s-1: A, CO2r and CO2s belong to the same moment");
  }
}

void tell(const Search::Trial& best, Alignment& out) {
  tell_made(out);
  if (out.misaligned) {
    out.notes.push_back({NoteLevel::warning, "columns-late",
                         "CO2s and CO2r stand " + shown(out.late_s) +
                             " s later in the log than the signals that "
                             "the recorded A was made from (" +
                             shown(out.late_low) + " to " + shown(out.late_high) +
                             " s), and may be means over " + shown(out.mean_low) + " to " +
                             shown(out.mean_high) +
                             " s: the balance of the columns agrees with A to " +
                             shown(out.misfit) + " umol m-2 s-1 when that is allowed for, to " +
                             shown(out.misfit_as_is) + " when it is not"});
  }
  if (out.misaligned && out.Ci_from_column) {
    out.notes.push_back(
        {NoteLevel::warning, "ci-from-late-column",
         "the recorded Ci was computed from that CO2s, the recorded A was not: A and Ci of the log "
         "do not belong to the same moment. Put together, they need CO2s read " +
             shown(out.late_s) + " s later; a low-pass of CO2s would make it worse"});
  }
  if (out.corrected) {
    out.notes.push_back({NoteLevel::warning, "already-corrected",
                         "the recorded A differs from the balance of the columns by " +
                             shown(best.linear[0]) + " + " + shown(best.linear[1]) +
                             " CO2s/1000 umol m-2 s-1 and " + shown(out.between_s) +
                             " s of lag between the cells: it already holds a correction"});
  }
}

/// What A is beside the balances of its own columns.
void judge(const Search& search, const AlignOptions& options, const Search::Trial& best,
           Alignment& out) {
  double left = 0;
  out.steady_off = search.against_steady(left, out.shift_low, out.shift_high);
  const double as_is = search.plain();
  // A slow ramp has so little storage that the balances cannot be told apart.
  const bool told = search.storage() > 3 * same_balance;
  const bool clear = out.late_low > 0 || out.late_high < 0 || options.late_s;
  if (out.steady_off < same_steady) {
    out.made = RecordedA::steady;
  } else if (left < uncorrected) {
    out.made = RecordedA::shifted;
  } else if (std::abs(out.late_s) > options.aligned_s && clear) {
    out.made = RecordedA::late;
  } else if (told && as_is < same_balance + volume_error * search.storage()) {
    out.made = RecordedA::balance;
    out.misfit_as_is = as_is;
  }
  out.misaligned = out.made == RecordedA::late;
  if (out.made != RecordedA::not_told) return;
  // A that is the balance of these columns needs nothing; one that is not, though they are aligned,
  // was made with offsets or a lag that the columns do not show.
  const double systematic = std::abs(best.linear[0]) + std::abs(best.linear[1]);
  out.corrected =
      as_is > 3 * out.misfit + uncorrected && (std::abs(out.between_s) > 0.5 || systematic > 0.5);
}

}  // namespace

const char* recorded_A_name(RecordedA made) {
  switch (made) {
    case RecordedA::not_told:
      return "not told";
    case RecordedA::steady:
      return "steady balance";
    case RecordedA::shifted:
      return "steady balance less a difference";
    case RecordedA::balance:
      return "balance with storage";
    case RecordedA::late:
      return "balance of earlier signals";
  }
  throw std::logic_error("an unknown making of A");
}

Result<Alignment> find_alignment(const AlignInput& input, const AlignOptions& options) {
  if (auto ok = check(input); !ok) return fail(ok.error());
  Alignment out;
  compare_Ci(input, out);
  Search search(input, options);
  const Search::Trial best = search.best();
  const Search::Trial as_is = search.at(0, 0);
  out.late_s = best.late;
  search.ranges(best, out);
  out.mean_s = best.mean;
  out.between_s = best.linear[2];
  out.misfit = search.rms(best);
  out.misfit_as_is = search.rms(as_is);
  out.rows = search.rows();
  judge(search, options, best, out);
  mend(input, out);
  tell(best, out);
  return out;
}

}  // namespace leafwright

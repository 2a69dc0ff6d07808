#include "ramp/conditions.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <cstdlib>

#include "base/number.hpp"
#include "base/text.hpp"
#include "quantity/constants.hpp"

namespace leafwright {

namespace {

std::string rate_text(double per_second) {
  return print_rounded(60 * per_second, 4) + " umol mol-1 min-1";
}

/// Builds the report: the level of a finding follows from its error of A.
class Comparison {
 public:
  Comparison(const GasPath& path, const PathConditions& leaf, double area, PathUse use,
             const ConditionOptions& options)
      : path_(path),
        empty_(path.conditions),
        leaf_(leaf),
        gain_(leaf.flow / 100 / area),  // 1e-6 mol/umol over 1e-4 m2/cm2
        use_(use),
        options_(options) {}

  ConditionReport report() {
    if (use_ == PathUse::nothing) {
      no_correction();
      return std::move(out_);
    }
    rate();
    range();
    flow();
    temperature();
    pressure();
    gasket();
    age();
    return std::move(out_);
  }

 private:
  void add(const char* about, double error, const std::string& text) {
    const ConditionLevel level = error > options_.refuse ? ConditionLevel::refuse
                                 : error > options_.warn ? ConditionLevel::warn
                                                         : ConditionLevel::ok;
    add_at(about, level, error, text + ": error of A " + print_rounded(error, 2) + " umol m-2 s-1");
  }
  void add_at(const char* about, ConditionLevel level, std::optional<double> error,
              std::string text) {
    out_.findings.push_back({about, level, error, std::move(text)});
    out_.worst = std::max(out_.worst, level);
  }
  [[nodiscard]] bool subtracts() const { return use_ == PathUse::differential; }
  [[nodiscard]] bool rescaled() const {
    return use_ == PathUse::filter && (options_.volume_known || path_.flow_law);
  }
  [[nodiscard]] double rate_size() const { return std::abs(leaf_.rate.value_or(0)); }
  /// What the chamber fills, s: mixing as found, else as computed, else the lag.
  [[nodiscard]] double chamber_tau() const {
    if (path_.chamber_tau_s) return *path_.chamber_tau_s;
    if (path_.mixing_s) return path_.mixing_s->value;
    return path_.lag_s ? std::abs(path_.lag_s->value) : 0;
  }
  [[nodiscard]] double filled_by_flow() const {
    if (path_.flow_law) return path_.flow_law->b.value / empty_.flow;
    return std::max(chamber_tau(), path_.lag_s ? path_.lag_s->value : 0);
  }

  void no_correction() {
    if (!path_.lag_s || !leaf_.rate) return;
    add("lag", gain_ * rate_size() * std::abs(path_.lag_s->value),
        "the lag of " + print_rounded(path_.lag_s->value, 3) + " s stays in A at " +
            rate_text(*leaf_.rate));
  }

  void rate() {
    if (!subtracts()) {
      add_at("rate", ConditionLevel::ok, 0, "rate and direction of the empty record do not matter");
      return;
    }
    if (!empty_.rate || !leaf_.rate) {
      const bool same = !empty_.rate && !leaf_.rate;
      add_at("rate", same ? ConditionLevel::warn : ConditionLevel::refuse, std::nullopt,
             same ? "neither record has one rate: subtraction is right only where both followed "
                    "the same programme"
                  : "one of the records has no single rate: its differential cannot be subtracted");
      return;
    }
    const double lag = path_.lag_s ? std::abs(path_.lag_s->value) : filled_by_flow();
    const double apart = std::abs(*leaf_.rate - *empty_.rate);
    const bool opposite = *leaf_.rate * *empty_.rate < 0;
    add(opposite ? "direction" : "rate", gain_ * lag * apart,
        "empty at " + rate_text(*empty_.rate) + ", leaf at " + rate_text(*leaf_.rate));
  }

  void range() {
    const double over =
        std::max({leaf_.CO2_high - empty_.CO2_high, empty_.CO2_low - leaf_.CO2_low, 0.0});
    // An uptake or a start below the range moves a leaf's CO2 a little; noise of the ends too.
    if (over <= 5) {
      add_at("range", ConditionLevel::ok, 0, "the empty record covers the leaf's CO2");
      return;
    }
    const double end = leaf_.CO2_high - empty_.CO2_high >= over ? leaf_.CO2_high : leaf_.CO2_low;
    const std::string text = "CO2 of the leaf reaches " + print_rounded(end, 4) +
                             " umol mol-1, that of the empty record " +
                             print_rounded(empty_.CO2_low, 4) + " to " +
                             print_rounded(empty_.CO2_high, 4);
    const double error = gain_ * offset_se(end);
    if (subtracts()) {
      add_at("range", over > 20 ? ConditionLevel::refuse : ConditionLevel::warn, error,
             text + ": there is nothing to subtract beyond it");
      return;
    }
    add_at("range", error > options_.refuse ? ConditionLevel::refuse : ConditionLevel::warn, error,
           text + ": the offset is extrapolated, error of A at least " + print_rounded(error, 2) +
               " umol m-2 s-1");
  }

  [[nodiscard]] double offset_se(double CO2) const {
    const std::array<double, 3> power = {1, CO2 / 1000, CO2 * CO2 / 1e6};
    double variance = 0;
    for (std::size_t i = 0; i < 3; ++i) {
      for (std::size_t j = 0; j < 3; ++j) {
        variance += power[i] * power[j] * path_.covariance[4 * (i + 1) + j + 1];
      }
    }
    return std::sqrt(std::max(variance, 0.0));
  }

  void flow() {
    if (!(empty_.flow > 0)) {
      add_at("flow", ConditionLevel::warn, std::nullopt, "the empty record has no chamber flow");
      return;
    }
    const double part = std::abs(leaf_.flow / empty_.flow - 1);
    const std::string text = "flow " + print_rounded(empty_.flow, 5) + " umol s-1 empty, " +
                             print_rounded(leaf_.flow, 5) + " with the leaf";
    if (rescaled()) {
      add_at("flow", ConditionLevel::ok, 0, text + ": the path is rescaled");
      return;
    }
    add("flow", gain_ * rate_size() * filled_by_flow() * part, text);
  }

  void temperature() {
    if (!empty_.Tair || !leaf_.Tair) {
      add_at("temperature", ConditionLevel::ok, std::nullopt,
             "air temperature is not in both records: not compared");
      return;
    }
    const std::string text = "air at " + print_rounded(*empty_.Tair, 4) + " degC empty, " +
                             print_rounded(*leaf_.Tair, 4) + " with the leaf";
    // tau is as 1/T: exact, not a first derivative, as 20 K are common.
    const double part = std::abs(1 - (*empty_.Tair + zero_celsius) / (*leaf_.Tair + zero_celsius));
    add("temperature", rescaled() ? 0 : gain_ * rate_size() * chamber_tau() * part,
        text + (rescaled() ? ", rescaled" : ""));
  }

  void pressure() {
    if (!(empty_.Patm > 0) || !(leaf_.Patm > 0)) {
      add_at("pressure", ConditionLevel::ok, std::nullopt,
             "pressure is not in both records: not compared");
      return;
    }
    const std::string text = "pressure " + print_rounded(empty_.Patm, 5) + " kPa empty, " +
                             print_rounded(leaf_.Patm, 5) + " with the leaf";
    const double part = std::abs(leaf_.Patm / empty_.Patm - 1);
    add("pressure", rescaled() ? 0 : gain_ * rate_size() * chamber_tau() * part,
        text + (rescaled() ? ", rescaled" : ""));
  }

  void gasket() {
    if (!empty_.gasket || !options_.gasket) {
      add_at("gasket", ConditionLevel::ok, std::nullopt,
             "the state of the gasket is not stated for both: a leak with a leaf in it is not in "
             "the empty record");
      return;
    }
    if (*empty_.gasket == *options_.gasket) {
      add_at("gasket", ConditionLevel::ok, 0, "gasket as in the empty record");
      return;
    }
    add_at("gasket", ConditionLevel::warn, std::nullopt,
           "gasket '" + *empty_.gasket + "' empty, '" + *options_.gasket +
               "' with the leaf: offset + leak of the empty chamber is not that of this one");
  }

  void age() {
    if (!empty_.date || !leaf_.date) {
      add_at("age", ConditionLevel::ok, std::nullopt,
             "the dates of both records are not known: offsets drift, so keep them together");
      return;
    }
    const auto days = days_between(*empty_.date, *leaf_.date);
    if (!days) return;
    const double apart = std::abs(*days);
    add_at("age", apart > options_.max_age_days ? ConditionLevel::warn : ConditionLevel::ok,
           std::nullopt,
           "the empty record is " + print_rounded(apart, 4) + " days from the leaf's" +
               (apart > options_.max_age_days
                    ? ": that it is still right is common practice without a source; compare two "
                      "empty records"
                    : ""));
  }

  const GasPath& path_;
  const PathConditions &empty_, &leaf_;
  double gain_;
  PathUse use_;
  const ConditionOptions& options_;
  ConditionReport out_;
};

/// Days since 1970-01-01 of a proleptic Gregorian date (Hinnant's algorithm).
std::optional<long> day_number(const std::string& date) {
  if (date.size() != 10 || date[4] != '-' || date[7] != '-') return std::nullopt;
  for (const std::size_t i : {0U, 1U, 2U, 3U, 5U, 6U, 8U, 9U}) {
    if (date[i] < '0' || date[i] > '9') return std::nullopt;
  }
  const long month = std::strtol(date.substr(5, 2).c_str(), nullptr, 10);
  const long day = std::strtol(date.substr(8, 2).c_str(), nullptr, 10);
  if (month < 1 || month > 12 || day < 1 || day > 31) return std::nullopt;
  const long year = std::strtol(date.substr(0, 4).c_str(), nullptr, 10) - (month <= 2 ? 1 : 0);
  const long era = year / 400, of_era = year - era * 400;
  const long of_year = (153 * (month + (month > 2 ? -3 : 9)) + 2) / 5 + day - 1;
  return era * 146097 + of_era * 365 + of_era / 4 - of_era / 100 + of_year - 719468;
}

}  // namespace

const char* condition_level_name(ConditionLevel level) {
  switch (level) {
    case ConditionLevel::ok:
      return "ok";
    case ConditionLevel::warn:
      return "warn";
    case ConditionLevel::refuse:
      return "refuse";
  }
  return "";
}

Result<PathUse> path_use(std::string_view correction) {
  if (correction == "none" || correction == "recorded") return PathUse::nothing;
  if (correction == "subtract") return PathUse::differential;
  if (correction == "equal-lag") return PathUse::equal_lag;
  if (correction == "forward" || correction == "balance" || correction == "joint") {
    return PathUse::filter;
  }
  return fail(ErrorCode::usage, "correction '" + shortened(correction) + "'",
              "none, subtract, equal-lag, forward, balance, joint or recorded");
}

const ConditionFinding* ConditionReport::find(std::string_view about) const {
  for (const ConditionFinding& finding : findings) {
    if (finding.about == about) return &finding;
  }
  return nullptr;
}

Result<ConditionReport> check_conditions(const GasPath& path, const PathConditions& leaf,
                                         double area, PathUse use,
                                         const ConditionOptions& options) {
  if (!(area > 0) || !(leaf.flow > 0)) {
    return fail(ErrorCode::usage, "the leaf's area or chamber flow is missing or not positive",
                "both, to tell what a difference costs", "add the columns area and flow");
  }
  return Comparison(path, leaf, area, use, options).report();
}

std::optional<double> days_between(const std::string& from, const std::string& to) {
  const auto a = day_number(from), b = day_number(to);
  if (!a || !b) return std::nullopt;
  return static_cast<double>(*b - *a);
}

}  // namespace leafwright

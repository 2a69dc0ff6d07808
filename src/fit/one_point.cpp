#include "fit/one_point.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "base/number.hpp"
#include "base/text.hpp"
#include "fit/plausible.hpp"
#include "leaf/at25.hpp"
#include "leaf/c3.hpp"

namespace leafwright {
namespace {

constexpr double pa = 1e-3;                   // umol mol-1 x kPa
constexpr double near_25 = 5;                 // K, within which the rule about Ci holds
constexpr double same_ci = 0.05;              // of the mean, rows of one point
constexpr double published_fraction = 0.015;  // De Kauwe et al. 2016
constexpr const char* sharkey = "Sharkey et al. 2007, Plant Cell Environ. 30:1035, from memory";

using From = RdaySource::From;

void at_least(OnePoint& point, OnePointStatus status, std::string why) {
  point.status = std::max(point.status, status);
  point.why.push_back(std::move(why));
}

void refuse(OnePoint& point, std::string why) {
  point.status = OnePointStatus::refused;
  point.why = {std::move(why)};
  point.Vcmax = point.Vcmax25 = point.Rday = std::nullopt;
}

OnePoint from_row(const Curve& curve, const CurveRow& row) {
  OnePoint point;
  point.curve_id = curve.curve_id;
  point.place = row.place;
  point.A = row.A;
  point.Ci = row.Ci;
  point.Tleaf = row.Tleaf;
  point.Patm = row.Patm;
  point.Qin = row.Qin;
  point.Rday = row.rday;
  point.status = OnePointStatus::one_point;
  return point;
}

/// The mean of a curve's points; refused where its Ci spreads. Qin is kept where every row has it.
OnePoint mean_point(const std::vector<OnePoint>& points) {
  OnePoint mean = points.front();
  const auto n = static_cast<double>(points.size());
  const auto of = [&](double OnePoint::*value) {
    double sum = 0;
    for (const OnePoint& p : points) sum += p.*value;
    return sum / n;
  };
  const auto maybe = [&](std::optional<double> OnePoint::*value) -> std::optional<double> {
    double sum = 0;
    for (const OnePoint& p : points) {
      if (!(p.*value)) return std::nullopt;
      sum += *(p.*value);
    }
    return sum / n;
  };
  mean.rows = points.size();
  mean.A = of(&OnePoint::A);
  mean.Ci = of(&OnePoint::Ci);
  mean.Tleaf = of(&OnePoint::Tleaf);
  mean.Patm = of(&OnePoint::Patm);
  mean.Qin = maybe(&OnePoint::Qin);
  mean.Rday = maybe(&OnePoint::Rday);
  const auto [low, high] =
      std::minmax_element(points.begin(), points.end(),
                          [](const OnePoint& a, const OnePoint& b) { return a.Ci < b.Ci; });
  if (high->Ci - low->Ci > same_ci * std::abs(mean.Ci)) {
    refuse(mean, fmt::format("Ci of its {} rows goes from {} to {}: records of one point are "
                             "averaged only where Ci spreads by at most 5 % of its mean; use "
                             "--per row, or 'fit' for an A-Ci curve",
                             points.size(), print_rounded(low->Ci, 5), print_rounded(high->Ci, 5)));
  }
  return mean;
}

/// Rday into the point where it is known before Vcmax is. False: refused.
bool take_rday(OnePoint& point, const RdaySource& source) {
  if (source.from == From::value) point.Rday = source.value;
  if (source.from != From::column) return true;
  if (!point.Rday) {
    refuse(point, "no Rday in the column named by --rday");
    return false;
  }
  if (*point.Rday < 0) {
    refuse(point, fmt::format("Rday {}: respiration is positive, change the sign", *point.Rday));
    return false;
  }
  return true;
}

void find_vcmax(OnePoint& point, const OnePointOptions& options) {
  const Kinetics& k = point.kinetics;
  if (!(point.Ci > k.gamma_star)) {
    refuse(point, fmt::format("Ci {} is not above Gamma* {}: no carboxylation explains this A",
                              print_rounded(point.Ci, 5), print_rounded(k.gamma_star, 5)));
    return;
  }
  if (options.rday.from == From::fraction) {
    const double f = options.rday.value, slope = (point.Ci - k.gamma_star) / (point.Ci + k.Km);
    if (!(slope > f)) {
      refuse(point, fmt::format("at Ci {} a leaf that respires {} Vcmax takes up nothing, whatever "
                                "its Vcmax; give Rday itself",
                                print_rounded(point.Ci, 5), f));
      return;
    }
    if (!(point.A > 0)) {
      refuse(point, fmt::format("A {} is not above 0", print_rounded(point.A, 4)));
      return;
    }
    point.Vcmax = one_point_vcmax_fraction(point.A, point.Ci, f, k);
    point.Rday = f * *point.Vcmax;
    point.per_A = 1 / (slope - f);
    return;
  }
  if (!(point.A + *point.Rday > 0)) {
    refuse(point,
           fmt::format("A + Rday is {}, not above 0", print_rounded(point.A + *point.Rday, 4)));
    return;
  }
  point.Vcmax = one_point_vcmax(point.A, point.Ci, *point.Rday, k);
  point.per_A = (point.Ci + k.Km) / (point.Ci - k.gamma_star);
}

/// What limits, as far as Ci, temperature and light suggest it.
void judge(OnePoint& point, const OnePointOptions& options) {
  using S = OnePointStatus;
  const double ci_pa = point.Ci * point.Patm * pa;
  if (ci_pa > rubp_above_pa) {
    at_least(point, S::lower_bound,
             fmt::format("Ci is {:.1f} Pa: above {} Pa RuBP usually limits", ci_pa, rubp_above_pa));
  } else if (ci_pa > rubisco_below_pa) {
    at_least(point, S::perhaps_lower_bound,
             fmt::format("Ci is {:.1f} Pa: from {} to {} Pa Rubisco or RuBP may limit", ci_pa,
                         rubisco_below_pa, rubp_above_pa));
  }
  if (std::abs(point.Tleaf - 25) > near_25) {
    at_least(point, S::perhaps_lower_bound,
             fmt::format("Tleaf is {:.1f} degC: the rule about Ci is for leaves near 25 degC",
                         point.Tleaf));
  }
  if (!options.saturating_light) return;
  if (!point.Qin) {
    at_least(point, S::perhaps_lower_bound, "no Qin: light saturation is not known");
  } else if (*point.Qin < *options.saturating_light) {
    at_least(point, S::lower_bound,
             fmt::format("Qin {} is below the {} stated to saturate", print_rounded(*point.Qin, 4),
                         print_rounded(*options.saturating_light, 4)));
  }
}

void complete(OnePoint& point, const OnePointOptions& options) {
  if (point.status == OnePointStatus::refused || !take_rday(point, options.rday)) return;
  const auto k =
      kinetics_at(*options.kinetics, point.Tleaf, point.Patm, options.basis, options.overrides);
  if (!k) {
    refuse(point, k.error().text());
    return;
  }
  point.kinetics = *k;
  find_vcmax(point, options);
  if (!point.Vcmax) return;
  judge(point, options);
  if (options.at25 == nullptr) return;
  if (const auto move = move_to_25(*options.at25, Capacity::Vcmax, point.Tleaf)) {
    point.Vcmax25 = *point.Vcmax / move->factor;
  }
}

/// The widest spread of published responses over the points, told once.
void note_moves(OnePointRun& run, const OnePointOptions& options) {
  if (options.at25 == nullptr) return;
  if (!options.at25->Vcmax) {
    run.notes.push_back(
        {NoteLevel::caution, "vcmax25-not-given",
         fmt::format("'{}' does not treat Vcmax: no values at 25 degC", options.at25->name)});
    return;
  }
  const OnePoint* furthest = nullptr;
  for (const OnePoint& p : run.points) {
    if (!p.Vcmax25) continue;
    if (furthest == nullptr || std::abs(p.Tleaf - 25) > std::abs(furthest->Tleaf - 25)) {
      furthest = &p;
    }
  }
  if (furthest == nullptr) return;
  auto move = move_to_25(*options.at25, Capacity::Vcmax, furthest->Tleaf);
  if (!move || move->note.level == NoteLevel::info) return;
  move->note.text = "the furthest from 25 degC (" + furthest->curve_id + "): " + move->note.text;
  run.notes.push_back(std::move(move->note));
}

void note_run(OnePointRun& run, const OnePointOptions& options) {
  if (!options.saturating_light) {
    run.notes.push_back({NoteLevel::caution, "light-not-judged",
                         "light saturation was not judged: in less than saturating light a value "
                         "is a lower bound; state --saturating-light"});
  }
  if (options.rday.from == From::value) {
    run.notes.push_back({NoteLevel::info, "rday-same",
                         "one Rday was given for all rows, whatever their leaf and temperature"});
  }
  if (options.rday.from == From::fraction && options.rday.value != published_fraction) {
    run.notes.push_back(
        {NoteLevel::caution, "fraction-unpublished",
         fmt::format("Rday = {} Vcmax: the method's error is published for 0.015 only",
                     options.rday.value)});
  }
  note_moves(run, options);
}

std::string rday_words(const RdaySource& source) {
  switch (source.from) {
    case From::fraction:
      return fmt::format("Vcmax = A/[(Ci - Gamma*)/(Ci + Km) - {0}], that is with Rday = {0} Vcmax",
                         source.value);
    case From::value:
      return fmt::format("Vcmax = (A + Rday)(Ci + Km)/(Ci - Gamma*) with Rday = {} umol m-2 s-1",
                         source.value);
    default:
      return "Vcmax = (A + Rday)(Ci + Km)/(Ci - Gamma*) with Rday from the table";
  }
}

std::string error_words(const OnePointOptions& options) {
  const auto error = published_error(options.rday);
  if (!error) return "For this Rday no error of the method is published.";
  return fmt::format(
      "Error of the method as published for {}: RMSE {} umol m-2 s-1, r2 {} against fitted A-Ci "
      "curves (564 species, 46 sites). It is that of the method over many leaves, not an interval "
      "of any one value here; none is given, as one record does not tell its error.",
      error->when, error->rmse, error->r2);
}

}  // namespace

const char* one_point_status_name(OnePointStatus status) {
  switch (status) {
    case OnePointStatus::one_point:
      return "one point";
    case OnePointStatus::perhaps_lower_bound:
      return "perhaps lower bound";
    case OnePointStatus::lower_bound:
      return "lower bound";
    case OnePointStatus::refused:
      return "refused";
  }
  return "refused";
}

std::optional<OnePointError> published_error(const RdaySource& rday) {
  if (rday.from == From::value || rday.from == From::column) {
    return OnePointError{8.19, 0.98, "a known Rday"};
  }
  if (rday.from == From::fraction && rday.value == published_fraction) {
    return OnePointError{17.1, 0.95, "Rday taken as 1.5 % of Vcmax"};
  }
  return std::nullopt;
}

Result<OnePointRun> one_points(std::span<const Curve> curves, const OnePointOptions& options) {
  if (options.kinetics == nullptr) {
    return fail(ErrorCode::usage, "no kinetics set", "one named by --kinetics");
  }
  if (options.rday.from == From::fitted) {
    return fail(ErrorCode::usage, "Rday to be fitted", "a value, a column or a fraction of Vcmax",
                "one point cannot tell Rday from Vcmax");
  }
  OnePointRun run;
  run.error = published_error(options.rday);
  if (auto basis = check_gm_basis(*options.kinetics, false)) run.notes = std::move(*basis);
  for (const Curve& curve : curves) {
    std::vector<OnePoint> points;
    for (const CurveRow& row : curve.rows) {
      if (row.use) points.push_back(from_row(curve, row));
    }
    if (options.mean_of_curve && points.size() > 1) points = {mean_point(points)};
    for (OnePoint& point : points) {
      complete(point, options);
      run.points.push_back(std::move(point));
    }
  }
  note_run(run, options);
  return run;
}

std::string one_point_methods(const OnePointOptions& options) {
  return fmt::format(
      "{} (De Kauwe et al. 2016, New Phytol. 210:1130). It holds for a light-saturated record "
      "that Rubisco limits; elsewhere the value is a lower bound. Rows are judged by Ci: above "
      "{} Pa RuBP usually limits, from {} to {} Pa either may ({}; near 25 degC). Light: {}. "
      "Kinetics {}, basis {}, gm infinite. {}\n",
      rday_words(options.rday), rubp_above_pa, rubisco_below_pa, rubp_above_pa, sharkey,
      options.saturating_light ? fmt::format("Qin from {} umol m-2 s-1 was stated to saturate",
                                             *options.saturating_light)
                               : std::string("not judged"),
      options.kinetics->name, basis_name(options.basis), error_words(options));
}

}  // namespace leafwright

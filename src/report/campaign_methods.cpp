#include "report/campaign_methods.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <map>

#include "base/number.hpp"
#include "base/text.hpp"
#include "ramp/correction.hpp"
#include "report/agree_report.hpp"
#include "report/agree_words.hpp"
#include "report/pair_report.hpp"
#include "report/ramp_report.hpp"

namespace leafwright {
namespace {

/// "4.2" of equal values, "4.2 to 4.6" of others; "" of none.
std::string span_text(std::vector<double> values, int digits) {
  if (values.empty()) return "";
  std::sort(values.begin(), values.end());
  const std::string low = print_rounded(values.front(), digits);
  const std::string high = print_rounded(values.back(), digits);
  return low == high ? low : low + " to " + high;
}

std::string path_text(const RunDocument& run) {
  std::vector<double> lags;
  std::size_t records = 0, paths = 0;
  for (const PathOutcome& outcome : run.paths) {
    if (!outcome.path) continue;
    ++paths;
    records += outcome.records.size();
    if (outcome.path->lag_s) lags.push_back(outcome.path->lag_s->value);
  }
  if (paths == 0) return "";
  std::string out = fmt::format(
      "The gas path between the records of CO2r and CO2s, with the difference of their cells over "
      "CO2, was identified from {} of the empty chamber ({}, by instrument and date)",
      counted(records, "record"), counted(paths, "gas path"));
  if (!lags.empty()) out += ": CO2s lagged by " + span_text(lags, 3) + " s";
  out += ". ";
  return paths < 2
             ? out
             : out +
                   "Each ramp took the path of its instrument nearest in date, the earlier of "
                   "two equally near. ";
}

/// What one correction does, for a reader who has not read docs/methods-ramps.md.
const char* correction_words(CorrectionMethod method) {
  switch (method) {
    case CorrectionMethod::none:
      return "no correction: A was computed from CO2r and CO2s of the same moment";
    case CorrectionMethod::subtract:
      return "subtraction of the empty chamber's own difference at the same CO2r";
    case CorrectionMethod::equal_lag:
      return "the offset of the cells alone, the lags having been made equal in hardware";
    case CorrectionMethod::forward:
      return "the forward correction: CO2r was delayed and mixed as the gas path does it before "
             "CO2s, without the cells' offset, was subtracted";
    case CorrectionMethod::balance:
      return "the mass balance of the chamber with its storage term, CO2r being delayed by the "
             "dead time";
    case CorrectionMethod::joint:
      return "a leaf model fitted to CO2s through the equation of the chamber";
    case CorrectionMethod::recorded:
      return "A as the log recorded it, with CO2s taken from as much later as A was early";
  }
  return "";
}

std::string ends_text(const std::vector<const CorrectedRamp*>& ramps) {
  std::vector<double> starts, ends;
  std::size_t kept = 0, all = 0;
  for (const CorrectedRamp* ramp : ramps) {
    kept += ramp->kept();
    all += ramp->A.size();
    for (const RampEnds& end : ramp->ends.ramps) {
      starts.push_back(end.discard_s);
      ends.push_back(end.trim_s);
    }
  }
  std::string out;
  if (!starts.empty()) {
    out = fmt::format(
        " By rule the first {} s after CO2r began to move and the last {} s before it stopped were "
        "left out, and rows while CO2r stood still;",
        span_text(starts, 2), span_text(ends, 2));
  }
  return out + fmt::format(" {} of {} were kept.", kept, counted(all, "row"));
}

/// "4 up, 1 down"
std::string directions_text(const std::vector<const CorrectedRamp*>& ramps) {
  std::map<std::string, std::size_t> count;
  for (const CorrectedRamp* ramp : ramps) ++count[ramp_direction(ramp->ends)];
  std::vector<std::string> out;
  for (const char* way : {"up", "down", "up and down", "none"}) {
    if (count[way] > 0) out.push_back(std::to_string(count[way]) + " " + way);
  }
  return join(out);
}

std::string corrected_text(CorrectionMethod method,
                           const std::vector<const CorrectedRamp*>& ramps) {
  std::vector<double> taus;
  bool paired = true, removed = true, has_errors = true;
  for (const CorrectedRamp* ramp : ramps) {
    if (ramp->used.tau_s) taus.push_back(*ramp->used.tau_s);
    paired = paired && ramp->used.pairing;
    removed = removed && ramp->used.offset_removed;
    has_errors = has_errors && ramp->errors != nullptr;
  }
  std::string out = fmt::format("{} of CO2 ({}) became points by {}", counted(ramps.size(), "ramp"),
                                directions_text(ramps), correction_words(method));
  if (!taus.empty()) out += " (time constant of the chamber " + span_text(taus, 2) + " s)";
  out += std::string("; the offset of the cells was ") + (removed ? "" : "not ") + "removed.";
  if (method == CorrectionMethod::subtract || method == CorrectionMethod::equal_lag ||
      method == CorrectionMethod::forward) {
    out += paired ? " Ci was computed from CO2s filtered by the same time constant, so that it "
                    "belongs to its A."
                  : " Ci was computed from CO2s as it stands: A lags its own Ci, which shifts the "
                    "curve sideways.";
  }
  out += ends_text(ramps);
  return has_errors ? out +
                          " Errors of the points count the noise of both analysers, its drift and "
                          "the errors of the gas path."
                    : out;
}

std::string pairs_text(const RunDocument& run) {
  std::string out;
  for (const PairOutcome& outcome : run.pairs) {
    if (!outcome.pair) continue;
    out += (out.empty() ? " " : "; ") + outcome.name + ": " + pair_lag_text(*outcome.pair) + ", " +
           pair_level_text(*outcome.pair);
  }
  if (out.empty()) return out;
  return "An up and a down ramp of one leaf were fitted together as A(t) = (1 -+ m/2) f(Ci "
         "filtered "
         "by a first-order lag T), f a cubic spline, - on the way up; T is the leaf's own lag, and "
         "a lag that differs between the directions cannot be seen." +
         out + ".";
}

std::string limits_text(const AgreeDocument& d, std::set<std::string>& references) {
  references.emplace("Bland JM, Altman DG (1986) Lancet i:307-310");
  references.emplace("Zou GY (2013) Statistical Methods in Medical Research 22:630-642");
  std::string out = fmt::format(
      "; their mean was taken over {} with Student's t, and limits of agreement (Bland & Altman "
      "1986) have intervals of their own (Zou 2013",
      d.input.plants_known ? "plants, as means of their leaves," : "leaves");
  const bool exact =
      std::any_of(d.result.parameters.begin(), d.result.parameters.end(),
                  [](const Comparison& c) { return c.summary && !c.summary->clustered; });
  if (!exact) return out + "). ";
  references.emplace("Carkeet A (2015) Optometry and Vision Science 92:e71-e80");
  return out + "; Carkeet 2015). ";
}

std::string margin_text(const AgreementRules& rules, std::set<std::string>& references) {
  if (!rules.margin && !rules.margin_rday && !rules.margin_A) {
    return "No margin was stated beforehand, so nothing is said about equivalence; a difference "
           "that is not shown is not agreement. ";
  }
  references.emplace(
      "Schuirmann DJ (1987) Journal of Pharmacokinetics and Biopharmaceutics 15:657-680");
  std::string out =
      "Equivalence was tested by two one-sided t tests (Schuirmann 1987) against the ";
  out += agree_margins(rules);
  if (rules.margin) {
    out += fmt::format(" (ratios of {} to {})", print_rounded(1 / (1 + *rules.margin), 3),
                       print_rounded(1 + *rules.margin, 3));
  }
  return out + ". ";
}

std::string holm_text(const AgreementResult& result, std::set<std::string>& references) {
  const std::string family = agree_family(result);
  if (family.empty()) return "P values were not adjusted for several parameters. ";
  references.emplace("Holm S (1979) Scandinavian Journal of Statistics 6:65-70");
  return "P values were adjusted over " + family + " (Holm 1979). ";
}

}  // namespace

std::vector<std::string> ramp_methods(const RunDocument& run) {
  std::vector<const CorrectedRamp*> ramps;
  for (const RampOutcome& outcome : run.ramps) {
    if (outcome.ramp) ramps.push_back(outcome.ramp.get());
  }
  if (ramps.empty()) return {};
  const std::size_t failed = run.ramps.size() - ramps.size();
  std::string out = path_text(run) + corrected_text(ramps.front()->used.method, ramps);
  if (failed > 0) out += " " + counted(failed, "ramp") + " could not be corrected.";
  const std::string pairs = pairs_text(run);
  if (pairs.empty()) return {out};
  return {out, pairs};
}

std::vector<std::string> agree_methods(const RunDocument& run, std::set<std::string>& references) {
  if (run.agreement == nullptr) return {};
  const AgreeDocument& d = *run.agreement;
  std::size_t excluded = 0;
  for (const LeafPair& pair : d.input.pairs) {
    if (!pair.excluded.empty()) ++excluded;
  }
  std::string out = "Methods were compared leaf by leaf: " + agree_heading(d) +
                    ". Positive parameters were compared as logarithms of ratios, Rday and A as "
                    "differences" +
                    limits_text(d, references) + margin_text(d.rules, references) +
                    holm_text(d.result, references);
  if (d.result.curves.band) {
    const Notes& told = d.result.curves.notes;
    const bool by_plants =
        d.input.plants_known && std::none_of(told.begin(), told.end(), [](const Note& note) {
          return note.about == "leaves-resampled";
        });
    references.emplace(
        "Montiel Olea JL, Plagborg-Moller M (2019) Journal of Applied Econometrics "
        "34:1-17");
    out += fmt::format(
        "A was compared at equal Ci every {} umol mol-1 over the Ci that all leaves have, with a "
        "simultaneous {} % band from {} resamples of {} (after Montiel Olea & Plagborg-Moller "
        "2019). ",
        print_rounded(d.rules.grid, 4), print_rounded(100 * d.rules.level, 3),
        d.result.curves.band->resamples, by_plants ? "plants" : "leaves");
  }
  if (!d.input.order_known) {
    out += "The order of the methods was not taken into account. ";
  }
  out += excluded == 0 ? "No leaf was left out."
                       : counted(excluded, "leaf", "leaves") +
                             " left out with a reason; the comparison with all of them stands "
                             "beside.";
  return {out};
}

}  // namespace leafwright

#include "report/methods_text.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <set>

#include "leaf/c4_kinetics.hpp"
#include "report/campaign_methods.hpp"
#include "report/curve_text.hpp"
#include "report/group_methods.hpp"
#include "report/stomata_report.hpp"

namespace leafwright {
namespace {

const CurveFit* first_fit(const FitDocument& d) {
  return d.campaign->fits.empty() ? nullptr : &d.campaign->fits.front();
}

class Methods {
 public:
  explicit Methods(const FitDocument& document) : d_(document) {}

  MethodsText write() {
    MethodsText out;
    const CurveFit* fit = first_fit(d_);
    if (fit == nullptr) {
      out.paragraphs.push_back("No curve was fitted.");
      return out;
    }
    if (d_.run != nullptr) out.paragraphs = ramp_methods(*d_.run);
    for (std::string text : {model(*fit), solver(*fit), intervals(*fit)}) {
      out.paragraphs.push_back(std::move(text));
    }
    if (fit->light) out.paragraphs.push_back(jmax(*fit));
    if (!fit->response_set.empty()) out.paragraphs.push_back(temperature(*fit));
    for (std::string text : {operating_methods(d_, references_), drift_methods(d_)}) {
      if (!text.empty()) out.paragraphs.push_back(std::move(text));
    }
    if (d_.run != nullptr && d_.run->responses) add_responses(*d_.run->responses, out.paragraphs);
    if (d_.run != nullptr) {
      const auto agreement = agree_methods(*d_.run, references_);
      out.paragraphs.insert(out.paragraphs.end(), agreement.begin(), agreement.end());
      const auto groups = group_methods(*d_.run, references_);
      out.paragraphs.insert(out.paragraphs.end(), groups.begin(), groups.end());
    }
    out.references.assign(references_.begin(), references_.end());
    return out;
  }

 private:
  void cite(std::string_view reference) { references_.emplace(reference); }

  std::string plateau(const CurveFit& fit) {
    switch (fit.c4->plateau) {
      case C4Plateau::unnamed:
        return "What sets the plateau was not named: A = min(Vp + gbs Cm - Rm, plateau - Rday).";
      case C4Plateau::vpr:
        return "The plateau was taken as regeneration of PEP (Vpr).";
      case C4Plateau::vcmax:
        return "The plateau was taken as Rubisco (Vcmax), with the full quadratic.";
      case C4Plateau::j:
        cite("von Caemmerer S (2021) Journal of Experimental Botany 72:6003-6017");
        return "The plateau was taken as electron transport (J), with its full quadratic.";
    }
    return "";
  }

  std::string c4_model(const CurveFit& fit) {
    cite("von Caemmerer S (2000) Biochemical Models of Leaf Photosynthesis. CSIRO Publishing");
    const auto kinetics = find_c4_kinetics(fit.kinetics_set);
    const C4Kinetics& k = fit.c4->kinetics;
    std::string out = fmt::format(
        "A-Ci curves were fitted with the C4 model of von Caemmerer (2000), CO2 of the mesophyll "
        "being taken as Ci, with gbs {} mol m-2 s-1 bar-1 and Rm {} Rday. {} Kinetics were those "
        "of "
        "the set {}",
        k.gbs, k.rm_share, plateau(fit), fit.kinetics_set);
    if (kinetics) {
      cite((*kinetics)->citation);
      out += fmt::format(" ({})", (*kinetics)->standing);
    }
    if (const std::string own = setting_text(d_, "kinetic"); !own.empty()) {
      out += ", replaced by the user's own where given: " + own;
    }
    return out + ". " + rday();
  }

  /// How the limitations were combined, and with which gm.
  std::string form(const CurveFit& fit) {
    if (fit.theta) {
      return fmt::format(
          "infinite mesophyll conductance, limitations blending by a smooth minimum of curvature "
          "{},",
          *fit.theta);
    }
    const std::string gm = setting_text(d_, "gm");
    if (!gm.empty() && gm != "infinite") {
      cite("Ethier GJ, Livingston NJ (2004) Plant, Cell & Environment 27:137-153");
      const std::string response = setting_text(d_, "gm-response");
      const std::string at25 = response.empty() ? "" : " at 25 degC (moved by " + response + ")";
      return (gm == "free"
                  ? "a fitted mesophyll conductance (Ethier & Livingston 2004" +
                        (response.empty() ? "" : "; moved to 25 degC by " + response) + "),"
                  : "mesophyll conductance " + gm + " mol m-2 s-1" + at25 +
                        " (Ethier & Livingston 2004),") +
             std::string(" the minimum being taken of carboxylation rates,");
    }
    return "infinite mesophyll conductance, the minimum being taken of carboxylation rates,";
  }

  std::string model(const CurveFit& fit) {
    if (fit.c4) return c4_model(fit);
    cite("Farquhar GD, von Caemmerer S, Berry JA (1980) Planta 149:78-90");
    const auto kinetics = find_kinetics(fit.kinetics_set);
    std::string out = fmt::format(
        "A-Ci curves were fitted with the C3 model of Farquhar, von Caemmerer & Berry (1980) with "
        "{} and J C/({} C + {} GammaStar) for RuBP limitation. Rubisco kinetics were those of the "
        "set {}",
        form(fit), fit.electrons.carboxylation, fit.electrons.oxygenation, fit.kinetics_set);
    if (kinetics) {
      cite((*kinetics)->citation);
      out += fmt::format(" ({})", (*kinetics)->standing);
    }
    out +=
        fmt::format(", kept as {} at the air pressure of each curve and taken at {}",
                    fit.basis == Basis::partial_pressure ? "partial pressures" : "mole fractions",
                    fit.kinetics_per_row ? "the leaf temperature of each row."
                                         : "the mean leaf temperature of the rows used.");
    if (const std::string own = setting_text(d_, "kinetic"); !own.empty()) {
      out += " Replaced by the user's own: " + own + ".";
    }
    if (fit.alpha > 0) {
      cite("Harley PC, Sharkey TD (1991) Photosynthesis Research 27:169-178");
      out += fmt::format(
          " A fraction {} of glycolate carbon was taken as not returned (Harley & "
          "Sharkey 1991).",
          fit.alpha);
    }
    return out + " " + rday();
  }

  std::string rday_from_dark(const std::string& value) {
    std::string out = "Rday was held at respiration measured in the dark (";
    out += value.rfind("column:", 0) == 0 ? value : value + " umol m-2 s-1";
    out +=
        "), of which light was taken to inhibit a share of " + setting_text(d_, "rday-inhibition");
    const std::string at = setting_text(d_, "rday-dark-temperature");
    if (at.empty()) {
      return out + "; it was taken as measured at the leaf temperature of each curve.";
    }
    out += "; it was measured at " + at + " degC";
    for (const CurveFit& fit : d_.campaign->fits) {
      if (!fit.dark || fit.dark->response.empty()) continue;
      out += " and moved to leaf temperature by the responses " + fit.dark->response;
      if (const auto set = find_response(fit.dark->response); set && !fit.c4) {
        cite((*set)->citation);
      }
      break;
    }
    return out + ".";
  }

  std::string jmax(const CurveFit& fit) {
    cite("von Caemmerer S (2000) Biochemical Models of Leaf Photosynthesis. CSIRO Publishing");
    const JmaxOrigin& l = *fit.light;
    double low = 1e300, high = 0;
    for (const CurveFit& f : d_.campaign->fits) {
      if (!f.light || !f.light->ppfd) continue;
      low = std::min(low, *f.light->ppfd);
      high = std::max(high, *f.light->ppfd);
    }
    std::string out = fmt::format(
        "Jmax was computed from J by theta J^2 - (I2 + Jmax) J + I2 Jmax = 0 with I2 = Q "
        "absorptance (1 - f)/2 (von Caemmerer 2000), absorptance {}, f {}, theta {}",
        l.absorptance, l.loss, l.curvature);
    if (high > 0) {
      out += low == high ? fmt::format(", Q {:.0f} umol m-2 s-1", low)
                         : fmt::format(", Q {:.0f} to {:.0f} umol m-2 s-1", low, high);
    }
    return out + "; its intervals are those of J and take these constants as known.";
  }

  std::string rday() {
    const std::string value = setting_text(d_, "rday");
    if (value == "free") return "Rday was fitted, not below 0.";
    if (value.rfind("dark:", 0) == 0) return rday_from_dark(value.substr(5));
    if (value.rfind("column:", 0) == 0) {
      return "Rday was held at the value measured for each leaf (column " + value.substr(7) + ").";
    }
    if (value.rfind("fraction:", 0) == 0) {
      return "Rday was held at " + value.substr(9) + " of Vcmax.";
    }
    return "Rday was held at " + value + " umol m-2 s-1.";
  }

  std::string failures() {
    const std::size_t failed = d_.campaign->failed.size() + d_.unread_curves.size();
    return fmt::format("{} curve{} could not be fitted.", failed, failed == 1 ? "" : "s");
  }

  /// What the parameters minimise.
  std::string loss(const CurveFit& first) {
    if (!first.weighting) return "Parameters minimise the sum of squared residuals of A. ";
    const Weighting& w = *first.weighting;
    const std::string by_sd =
        w.sd_column.empty() ? ""
                            : "rows counting by 1/sd^2 (column " + w.sd_column +
                                  "; only the ratios of the sd enter, the noise is estimated from "
                                  "the residuals)";
    if (!w.huber) {
      return "Parameters minimise the weighted sum of squared residuals of A, " + by_sd + ". ";
    }
    cite("Huber PJ (1981) Robust Statistics. Wiley");
    std::size_t rows = 0, curves = 0;
    for (const CurveFit& fit : d_.campaign->fits) {
      if (!fit.weighting || !fit.weighting->huber || fit.weighting->huber->down == 0) continue;
      rows += fit.weighting->huber->down;
      ++curves;
    }
    return fmt::format(
        "Parameters minimise Huber's loss of the residuals of A{} with k {} and the scale of his "
        "Proposal 2 (Huber 1981), by exact fits that were weighted anew until nothing moved; {} "
        "row{} of {} curve{} counted less than the others. ",
        by_sd.empty() ? "" : ", " + by_sd + ",", w.huber->k, rows, rows == 1 ? "" : "s", curves,
        curves == 1 ? "" : "s");
  }

  std::string solver(const CurveFit& first) {
    if (first.c4 || first.theta || setting_text(d_, "gm") != "infinite") return searched(first);
    const auto& fits = d_.campaign->fits;
    const auto certified =
        std::count_if(fits.begin(), fits.end(), [](const CurveFit& f) { return f.certified; });
    std::string out = loss(first);
    if (setting_text(d_, "limitations") == "auto") {
      out +=
          "Rubisco and RuBP limitation were permitted; TPU limitation was added where an F test at "
          "5 % asked for it and at least two rows were then TPU-limited. ";
    } else {
      out += "Permitted limitations: " + setting_text(d_, "limitations") + ". ";
    }
    cite(
        "Gu L, Pallardy SG, Tu K, Law BE, Wullschleger SD (2010) Plant, Cell & Environment "
        "33:1852-1874");
    if (first.weighting && first.weighting->huber) {
      return out +
             "Each weighted problem was solved exactly, over all assignments of rows to "
             "limitations (Gu et al. 2010), their kinks and bounds; the loss itself was searched "
             "from the squared-loss fit and from each row left out once, and is not certified. " +
             failures();
    }
    out += fmt::format(
        "All assignments of rows to limitations (Gu et al. 2010), their kinks and bounds were "
        "enumerated, so that no other parameters fit better; this was certified for {} of {} "
        "curves. {} curve{} could not be fitted.",
        certified, fits.size(), d_.campaign->failed.size() + d_.unread_curves.size(),
        d_.campaign->failed.size() + d_.unread_curves.size() == 1 ? "" : "s");
    return out;
  }

  std::string searched(const CurveFit& first) {
    std::string out = loss(first);
    if (first.certified) {
      out +=
          "All splits between the initial side and the plateau, their kinks and bounds were "
          "enumerated, so that no other parameters fit better (certified). ";
    } else {
      out +=
          "The sum was searched from several starts and through the neighbouring assignments of "
          "rows to limitations; it is not certified. ";
    }
    if (!first.c4) {
      out += setting_text(d_, "limitations") == "auto"
                 ? "TPU limitation was added where an F test at 5 % asked for it and at least two "
                   "rows were then TPU-limited. "
                 : "Permitted limitations: " + setting_text(d_, "limitations") + ". ";
    }
    return out + failures();
  }

  std::string intervals(const CurveFit& fit) {
    if (fit.interval_kind.empty()) return "No intervals were computed.";
    std::string out = "Intervals are " + interval_kinds(*d_.campaign) +
                      " intervals: they contain the noise of the points, given the constants.";
    if (fit.weighting && fit.weighting->huber) {
      out +=
          " They are the profile of pseudo-values, with the variance of Huber's asymptotic "
          "covariance and his correction for few rows.";
    }
    if (d_.campaign->correlation) {
      out += fmt::format(
          " Beside them stand wider ones that take neighbouring residuals as correlated by {:.2f} "
          "({}).",
          *d_.campaign->correlation,
          setting_text(d_, "correlation") == "auto" ? "estimated over all curves" : "given");
    }
    return out +
           " A side that the data do not bound is reported as open, and a parameter that they "
           "do not bound as a bound or as not identified.";
  }

  std::string temperature(const CurveFit& fit) {
    if (fit.c4) {
      const auto set = find_c4_response(fit.response_set);
      std::string text = "Values at 25 degC were computed with the C4 temperature responses ";
      text += fit.response_set;
      if (set) {
        cite((*set)->citation);
        text += fmt::format(" ({})", (*set)->standing);
      }
      return text + ".";
    }
    const auto set = find_response(fit.response_set);
    std::string out =
        "Values at 25 degC were computed with the temperature responses " + fit.response_set;
    if (set) {
      cite((*set)->citation);
      out += fmt::format(" ({})", (*set)->standing);
    }
    return out +
           "; published responses disagree, and the spread over those known to the program is "
           "given with each value.";
  }

  /// One sentence per kind of response, as its own equation and source say it.
  static void add_responses(const ResponseRun& run, std::vector<std::string>& paragraphs) {
    std::set<std::string> said;
    for (const ResponseFit& fit : run.fits) {
      const std::string text = "The response of " + fit.of + " was fitted as " + fit.equation +
                               " (" + fit.source + "), by least squares of " +
                               (fit.log_scale ? "its logarithm" : "its value") +
                               ", with 95 % profile intervals.";
      if (said.insert(text).second) paragraphs.push_back(text);
    }
  }

  const FitDocument& d_;
  std::set<std::string> references_;
};

}  // namespace

MethodsText methods_text(const FitDocument& document) {
  return Methods(document).write();
}

}  // namespace leafwright

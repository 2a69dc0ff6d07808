#include "report/methods_text.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <set>

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
    out.paragraphs = {model(*fit), solver(*fit), intervals(*fit)};
    if (!fit->response_set.empty()) out.paragraphs.push_back(temperature(*fit));
    out.references.assign(references_.begin(), references_.end());
    return out;
  }

 private:
  void cite(std::string_view reference) { references_.emplace(reference); }

  std::string model(const CurveFit& fit) {
    cite("Farquhar GD, von Caemmerer S, Berry JA (1980) Planta 149:78-90");
    const auto kinetics = find_kinetics(fit.kinetics_set);
    std::string out = fmt::format(
        "A-Ci curves were fitted with the C3 model of Farquhar, von Caemmerer & Berry (1980) with "
        "infinite mesophyll conductance, the minimum being taken of carboxylation rates, and "
        "J C/({} C + {} GammaStar) for RuBP limitation. Rubisco kinetics were those of the set {}",
        fit.electrons.carboxylation, fit.electrons.oxygenation, fit.kinetics_set);
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

  std::string rday() {
    const std::string value = setting_text(d_, "rday");
    if (value == "free") return "Rday was fitted, not below 0.";
    if (value.rfind("column:", 0) == 0) {
      return "Rday was held at the value measured for each leaf (column " + value.substr(7) + ").";
    }
    if (value.rfind("fraction:", 0) == 0) {
      return "Rday was held at " + value.substr(9) + " of Vcmax.";
    }
    return "Rday was held at " + value + " umol m-2 s-1.";
  }

  std::string solver(const CurveFit&) {
    const auto& fits = d_.campaign->fits;
    const auto certified =
        std::count_if(fits.begin(), fits.end(), [](const CurveFit& f) { return f.certified; });
    std::string out = "Parameters minimise the sum of squared residuals of A. ";
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
    out += fmt::format(
        "All assignments of rows to limitations (Gu et al. 2010), their kinks and bounds were "
        "enumerated, so that no other parameters fit better; this was certified for {} of {} "
        "curves. {} curve{} could not be fitted.",
        certified, fits.size(), d_.campaign->failed.size() + d_.unread_curves.size(),
        d_.campaign->failed.size() + d_.unread_curves.size() == 1 ? "" : "s");
    return out;
  }

  std::string intervals(const CurveFit& fit) {
    if (fit.interval_kind.empty()) return "No intervals were computed.";
    std::string out = "Intervals are " + fit.interval_kind +
                      " intervals: they contain the noise of the points, given the constants.";
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

  const FitDocument& d_;
  std::set<std::string> references_;
};

}  // namespace

MethodsText methods_text(const FitDocument& document) {
  return Methods(document).write();
}

}  // namespace leafwright

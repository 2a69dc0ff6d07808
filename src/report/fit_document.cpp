#include "report/fit_document.hpp"

#include <algorithm>
#include <stdexcept>
#include <string_view>
#include <unordered_map>

namespace leafwright {

std::vector<CurveOutcome> outcomes(const FitDocument& document) {
  if (document.campaign == nullptr) throw std::logic_error("a report without fits");
  std::vector<CurveOutcome> all;
  std::unordered_map<std::string_view, std::size_t> index;
  all.reserve(document.curves.size());
  for (const Curve& curve : document.curves) {
    if (!index.emplace(curve.curve_id, all.size()).second) {
      throw std::logic_error("two curves named '" + curve.curve_id + "' in one report");
    }
    all.push_back({&curve, nullptr, nullptr});
  }
  const auto outcome = [&](const std::string& id) -> CurveOutcome& {
    const auto found = index.find(id);
    if (found == index.end()) throw std::logic_error("the report has no curve '" + id + "'");
    CurveOutcome& known = all[found->second];
    if (known.fit != nullptr || known.failed != nullptr) {
      throw std::logic_error("two results for the curve '" + id + "'");
    }
    return known;
  };
  for (const CurveFit& fit : document.campaign->fits) outcome(fit.curve_id).fit = &fit;
  for (const FailedCurve& failed : document.campaign->failed) {
    outcome(failed.curve_id).failed = &failed;
  }
  return all;
}

const std::string& curve_file(const Curve& curve) {
  static const std::string unknown;
  return curve.rows.empty() ? unknown : curve.rows.front().place.file;
}

std::string why_unused(const CurveFit& fit, const CurveRow& row) {
  if (std::find(fit.used.begin(), fit.used.end(), row.row) != fit.used.end()) return "";
  if (!row.why.empty()) return row.why;
  return row.use && !(row.Ci > 0) ? "Ci is not above 0" : "not used";
}

std::string setting_text(const FitDocument& document, const std::string& name) {
  for (const Settings* settings : document.settings) {
    for (const Setting& setting : settings->table()) {
      if (setting.name == name && settings->is_set(name)) return settings->text(name);
    }
  }
  return "";
}

}  // namespace leafwright

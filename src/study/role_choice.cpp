#include "study/role_choice.hpp"

#include <algorithm>

#include "base/text.hpp"

namespace leafwright {
namespace {

constexpr std::size_t names_told = 8;

bool is_ramp(const StudyRun& run, const std::string& curve) {
  const auto& ramps = run.about.ramps;
  return std::any_of(ramps.begin(), ramps.end(),
                     [&](const RampOutcome& ramp) { return ramp.name == curve; });
}

/// Of a curve without rows only the log is known.
bool is_of_ramp_log(const StudyRun& run, const UnreadCurveOf& unread) {
  const auto& logs = run.about.logs;
  return is_ramp(run, unread.curve_id) ||
         std::any_of(logs.begin(), logs.end(), [&](const LogRecord& log) {
           return log.file == unread.file && log.role == role_name(LogRole::ramp);
         });
}

}  // namespace

FitDocument RoleChoice::document(const StudyRun& run) const {
  FitDocument out = run.document();
  out.curves = curves;
  out.campaign = &campaign;
  out.unread_curves = unread_curves;
  return out;
}

Notes RoleChoice::notes() const {
  Notes out;
  if (!others.empty()) {
    out.push_back({NoteLevel::info, "curves-by-other-methods",
                   counted(others.size(), "curve") +
                       " by another method take no part: " + join(others, ", ", names_told)});
  }
  if (steps > 0 && ramps > 0) {
    out.push_back({NoteLevel::caution, "methods-mixed",
                   counted(steps, "curve") + " of steps and " + counted(ramps, "ramp") +
                       " are put together, as role = \"all\" asks: a leaf with both counts twice, "
                       "and methods may differ"});
  }
  return out;
}

Result<RoleChoice> choose_role(const StudyRun& run, const std::string& role) {
  RoleChoice out;
  const auto wanted = [&](bool ramp) {
    return role == "all" || ramp == (role == role_name(LogRole::ramp));
  };
  for (const Curve& curve : run.curves) {
    const bool ramp = is_ramp(run, curve.curve_id);
    if (!wanted(ramp)) {
      out.others.push_back(curve.curve_id);
      continue;
    }
    ++(ramp ? out.ramps : out.steps);
    out.curves.push_back(curve);
  }
  if (out.curves.empty()) {
    return fail(ErrorCode::refused, "no curve of role '" + role + "'", "curves of this role",
                "role = \"steps\", \"ramp\" or \"all\" chooses by the role of the logs");
  }
  const auto chosen = [&](const std::string& id) { return wanted(is_ramp(run, id)); };
  out.campaign.correlation = run.campaign.correlation;
  for (const CurveFit& fit : run.campaign.fits) {
    if (chosen(fit.curve_id)) out.campaign.fits.push_back(fit);
  }
  for (const FailedCurve& failed : run.campaign.failed) {
    if (chosen(failed.curve_id)) out.campaign.failed.push_back(failed);
  }
  for (const UnreadCurveOf& unread : run.unread_curves) {
    if (wanted(is_of_ramp_log(run, unread))) out.unread_curves.push_back(unread);
  }
  return out;
}

}  // namespace leafwright

// The curves of a study that were measured by one method: what [pool] and [together] take.
#pragma once

#include <string>
#include <vector>

#include "base/error.hpp"
#include "study/run.hpp"

namespace leafwright {

/// Curves of the chosen role with what became of them. `document` points into the run, and into
/// `curves` and `campaign` here: it must not outlive either.
struct RoleChoice {
  std::vector<Curve> curves;
  CampaignFit campaign;
  std::vector<UnreadCurveOf> unread_curves;
  std::size_t steps = 0, ramps = 0;  ///< curves chosen
  std::vector<std::string> others;   ///< curves of another role, not chosen

  [[nodiscard]] FitDocument document(const StudyRun& run) const;
  /// What is to be said of curves by other methods, or of methods that were put together.
  [[nodiscard]] Notes notes() const;
};

/// `role` is "steps", "ramp" or "all". Errors: refused, where no curve is left.
Result<RoleChoice> choose_role(const StudyRun& run, const std::string& role);

}  // namespace leafwright

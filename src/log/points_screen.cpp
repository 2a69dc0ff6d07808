#include "log/points_screen.hpp"

#include <cmath>
#include <limits>
#include <map>

#include "base/text.hpp"
#include "log/column.hpp"

namespace leafwright {

namespace {

/// More than two digits behind the point.
bool fine(double value) {
  const double hundreds = value * 100;
  return std::abs(hundreds - std::round(hundreds)) > 1e-6;
}

bool repeats(const CurveRow& row, const CurveRow& before) {
  return row.A == before.A && row.Ci == before.Ci && row.Tleaf == before.Tleaf &&
         row.Patm == before.Patm && row.Qin == before.Qin && (fine(row.A) || fine(row.Ci));
}

}  // namespace

void screen_points(Curve& curve, const ScreenChoice& choice) {
  if (!choice.on) return;
  constexpr double missing = std::numeric_limits<double>::quiet_NaN();
  std::vector<double> A, Ci, Tleaf, Qin;
  std::vector<char> repeat, use;
  for (std::size_t i = 0; i < curve.rows.size(); ++i) {
    const CurveRow& row = curve.rows[i];
    A.push_back(row.A);
    Ci.push_back(row.Ci);
    Tleaf.push_back(row.Tleaf);
    Qin.push_back(row.Qin.value_or(missing));
    use.push_back(row.use ? 1 : 0);
    const bool both = i > 0 && row.use && curve.rows[i - 1].use;
    repeat.push_back(both && repeats(row, curve.rows[i - 1]) ? 1 : 0);
  }
  const ScreenResult result = screen({A, Ci, {}, {}, Tleaf, Qin, repeat, {}, use}, choice);
  std::map<ScreenRule, std::pair<std::size_t, std::size_t>> flagged;  // how many, the first
  for (std::size_t i = 0; i < curve.rows.size(); ++i) {
    if (!result.why[i].empty()) {
      curve.rows[i].use = false;
      curve.rows[i].why = result.why[i];
    }
    for (const ScreenRuleInfo& rule : screen_rules()) {
      if ((result.flags[i] >> static_cast<unsigned>(rule.rule) & 1U) == 0) continue;
      const auto at = flagged.try_emplace(rule.rule, 0, i).first;
      ++at->second.first;
    }
  }
  for (const auto& [rule, found] : flagged) {
    const ScreenRuleInfo& info = screen_rule(rule);
    std::string example;
    for (const std::string& text : result.examples) {
      if (text.starts_with(info.name)) example = text.substr(info.name.size());
    }
    curve.notes.push_back({NoteLevel::caution, "screen-" + std::string(info.name),
                           counted(found.first, "row") +
                               " flagged, and used: " + std::string(info.meaning) +
                               " (first: " + line_text(curve.rows[found.second].place) + example +
                               ") [" + std::string(info.source) + "]"});
  }
}

}  // namespace leafwright

// Screening of computed rows, curve by curve.
#include <cmath>
#include <limits>
#include <map>

#include "base/text.hpp"
#include "log/column.hpp"
#include "log/flux.hpp"
#include "log/gather.hpp"
#include "log/steps.hpp"

namespace leafwright {

namespace {

std::vector<double> channel_at(const Channel* channel, const std::vector<std::size_t>& rows) {
  return channel == nullptr ? std::vector<double>() : gather(channel->values, rows);
}

/// Rows of a continuous log are not points: their neighbours in Ci are the same moment again.
bool are_points(const TimeAxis& axis, const std::vector<std::size_t>& rows) {
  if (!axis.there() || rows.size() < 2) return true;
  const double span = axis.seconds[rows.back()] - axis.seconds[rows.front()];
  return !(span / static_cast<double>(rows.size() - 1) < 10);
}

std::string key_of(const std::string& reason) {
  const std::size_t colon = reason.find(':');
  return colon == std::string::npos ? reason : reason.substr(0, colon);
}

}  // namespace

void screen_flux(const FluxSource& source, const ScreenChoice& choice, FluxRows& rows) {
  if (!choice.on) return;
  std::map<std::string, std::size_t> left_out;
  std::map<ScreenRule, std::pair<std::size_t, std::string>> flagged;
  const std::vector<char> none;
  for (const CutCurve& curve : source.cut->curves) {
    const auto A = gather(rows.A, curve.rows);
    const auto Ci = gather(rows.Ci, curve.rows);
    const auto gsw = gather(rows.gsw, curve.rows);
    const auto flow = channel_at(source.log->find("flow"), curve.rows);
    const auto Tleaf = gather(rows.Tleaf, curve.rows);
    const auto Qin = channel_at(source.log->find("Qin"), curve.rows);
    const auto repeat = gather(rows.repeat, curve.rows);
    const auto use = gather(rows.use, curve.rows);
    const auto equalising = gather(
        source.equalisations != nullptr ? source.equalisations->in_progress : none, curve.rows);
    ScreenSeries series{A, Ci, gsw, flow, Tleaf, Qin, repeat, equalising, use};
    series.points = are_points(*source.axis, curve.rows);
    const ScreenResult result = screen(series, choice);
    for (std::size_t i = 0; i < curve.rows.size(); ++i) {
      const std::size_t row = curve.rows[i];
      if (!result.why[i].empty()) {
        rows.leave_out(row, result.why[i]);
        ++left_out[key_of(result.why[i])];
      }
      if (result.flags[i] == 0) continue;
      rows.flags[row] |= result.flags[i] << screen_flag_shift;
      for (const ScreenRuleInfo& rule : screen_rules()) {
        if ((result.flags[i] >> static_cast<unsigned>(rule.rule) & 1U) == 0) continue;
        auto& [count, first] = flagged[rule.rule];
        if (count++ == 0) {
          for (const std::string& example : result.examples) {
            if (key_of(example) == rule.name) {
              first =
                  line_text(source.log->table().row_place(row)) + example.substr(example.find(':'));
            }
          }
        }
      }
    }
  }
  for (const auto& [key, count] : left_out) {
    std::string text = counted(count, "row") + " left out";
    for (const ScreenRuleInfo& rule : screen_rules()) {
      if (rule.name == key) {
        text += ": " + std::string(rule.meaning) + " [" + std::string(rule.source) + "]";
      }
    }
    rows.notes.push_back({NoteLevel::caution, "screen-" + key, std::move(text)});
  }
  for (const auto& [rule, found] : flagged) {
    const ScreenRuleInfo& info = screen_rule(rule);
    rows.notes.push_back({NoteLevel::caution, "screen-" + std::string(info.name),
                          counted(found.first, "row") +
                              " flagged, and used: " + std::string(info.meaning) +
                              " (first: " + found.second + ") [" + std::string(info.source) + "]"});
  }
}

}  // namespace leafwright

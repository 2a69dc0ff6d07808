#include "fit/gm_response.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <vector>

#include "base/number.hpp"

namespace leafwright {
namespace {

std::vector<double> numbers_in(const std::string& text) {
  std::vector<double> out;
  std::size_t begin = 0;
  while (begin <= text.size()) {
    const std::size_t end = std::min(text.find(',', begin), text.size());
    const auto number = parse_number(text.substr(begin, end - begin));
    if (!number || !std::isfinite(*number)) return {};
    out.push_back(*number);
    begin = end + 1;
  }
  return out;
}

}  // namespace

Result<Response> parse_gm_response(const std::string& text) {
  const std::size_t colon = text.find(':');
  const std::string form = text.substr(0, colon);
  const std::vector<double> n =
      colon == std::string::npos ? std::vector<double>{} : numbers_in(text.substr(colon + 1));
  if (form == "arrhenius" && n.size() == 1 && n[0] >= 0 && n[0] <= 200) return Response{n[0]};
  if (form == "peaked" && n.size() == 3 && n[0] > 0 && n[0] < n[1] && n[1] <= 1000 && n[2] >= 100 &&
      n[2] <= 2000) {
    return Response{n[0], n[1], n[2]};
  }
  return fail(ErrorCode::usage, fmt::format("'{}' for --gm-response", text),
              "arrhenius:HA with HA from 0 to 200 kJ mol-1, or peaked:HA,HD,DS with 0 < HA < HD <= "
              "1000 kJ mol-1 and DS from 100 to 2000 J mol-1 K-1",
              "such as arrhenius:49.6");
}

std::optional<double> gm_held_at(const C3FitOptions& options, double tleaf) {
  if (!options.gm || !options.gm_response) return options.gm;
  return *options.gm * options.gm_response->factor(tleaf);
}

void add_gm_at25(CurveFit& out, const C3FitOptions& options) {
  if (!options.gm_response) return;
  const double factor = options.gm_response->factor(out.Tleaf);
  if (options.gm) {
    out.notes.push_back(
        {NoteLevel::info, "gm-response",
         fmt::format("gm {} mol m-2 s-1 at 25 degC is {} at this curve's {} degC by the stated "
                     "response",
                     print_rounded(*options.gm, 4), print_rounded(*options.gm * factor, 4),
                     print_rounded(out.Tleaf, 4))});
  }
  const auto gm = std::find_if(out.more.begin(), out.more.end(),
                               [](const Estimate& e) { return e.symbol == "gm"; });
  if (gm == out.more.end()) return;
  const auto by_factor = [&](const std::optional<double>& v) {
    return v ? std::optional(*v / factor) : std::nullopt;
  };
  At25 moved{"gm25", {}, by_factor(gm->low), by_factor(gm->high)};
  if (gm->status == Status::estimated || gm->status == Status::fixed) {
    moved.value = by_factor(gm->value);
  }
  out.at25.push_back(std::move(moved));
}

}  // namespace leafwright

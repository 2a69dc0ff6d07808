#include "study/time_zone.hpp"

#include <date/tz.h>

#include <chrono>
#include <exception>
#include <vector>

#include "base/text.hpp"

namespace leafwright {
namespace {

std::vector<std::string> zone_names() {
  std::vector<std::string> names;
  try {
    for (const date::time_zone& zone : date::get_tzdb().zones) names.push_back(zone.name());
  } catch (const std::exception&) {
    names.clear();  // told below as missing data
  }
  return names;
}

double seconds_of(std::chrono::seconds offset) {
  return static_cast<double>(offset.count());
}

}  // namespace

Result<ZoneRule> zone_rule(const std::string& name) {
  const date::time_zone* zone = nullptr;
  try {
    zone = date::locate_zone(name);
  } catch (const std::exception&) {
    const auto names = zone_names();
    if (names.empty()) {
      return fail(ErrorCode::unreadable, "this system has no time zone data", "",
                  "install the package tzdata, or give times with an offset (utc-offset)");
    }
    return fail(ErrorCode::usage, "no time zone is called '" + shortened(name) + "'",
                "a name of the IANA list, such as Europe/Berlin or UTC", [&] {
                  const auto near = nearest_name(name, names);
                  return near ? "did you mean '" + *near + "'?" : std::string();
                }());
  }
  return ZoneRule([zone](std::int64_t local) -> std::vector<double> {
    const date::local_seconds wall{std::chrono::seconds(local)};
    const date::local_info info = zone->get_info(wall);
    switch (info.result) {
      case date::local_info::unique:
        return {seconds_of(info.first.offset)};
      case date::local_info::ambiguous:
        return {seconds_of(info.first.offset), seconds_of(info.second.offset)};
      default:
        return {};
    }
  });
}

}  // namespace leafwright

// The settings that choose and complete the rows of a table of points.
#include <array>

#include "base/number.hpp"
#include "log/points.hpp"

namespace leafwright {

SettingTable points_settings() {
  static const std::array<Setting, 4> settings{{
      {.name = "curve",
       .kind = SettingKind::text,
       .default_value = "curve_id",
       .help = "column that groups rows into curves; without the default column each block of the "
               "file is one curve",
       .source = "docs/formats",
       .value_name = "COLUMN"},
      {.name = "only",
       .kind = SettingKind::list,
       .help = "use only rows with this value; the same column twice means either, different "
               "columns mean both",
       .source = "the user's own",
       .value_name = "COLUMN=VALUE"},
      {.name = "tleaf",
       .kind = SettingKind::number,
       .unit = "degC",
       .low = -10,
       .high = 60,
       .help = "leaf temperature of all rows, in place of the column Tleaf",
       .source = "the user's own"},
      {.name = "patm",
       .kind = SettingKind::number,
       .unit = "kPa",
       .low = 30,
       .high = 120,
       .help = "air pressure of all rows, in place of the column Patm",
       .source = "the user's own"},
  }};
  return settings;
}

PointsOptions points_options(const Settings& settings, std::optional<std::string> rday_column) {
  PointsOptions out;
  if (settings.origin("curve") != SettingOrigin::default_value) {
    out.curve_column = settings.text("curve");
  }
  out.only = settings.list("only");
  out.rday_column = std::move(rday_column);
  if (settings.is_set("tleaf")) out.tleaf = settings.number("tleaf");
  if (settings.is_set("patm")) out.patm = settings.number("patm");
  return out;
}

}  // namespace leafwright

// The settings that choose, complete and cut the rows of a table.
#include <array>

#include "base/number.hpp"
#include "log/cut.hpp"
#include "log/points.hpp"
#include "log/select.hpp"

namespace leafwright {

SettingTable points_settings() {
  static const std::array<Setting, 4> settings{{
      {.name = "curve",
       .kind = SettingKind::text,
       .default_value = "curve_id",
       .help = "column that groups rows into curves; without the default column the file is cut as "
               "`cut` says",
       .source = "docs/formats",
       .value_name = "COLUMN"},
      only_setting(),
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

PointsOptions points_options(const Settings& settings, std::optional<std::string> rday_column,
                             std::optional<std::string> sd_column) {
  PointsOptions out;
  if (settings.origin("curve") != SettingOrigin::default_value) {
    out.curve_column = settings.text("curve");
  }
  out.only = settings.list("only");
  out.rday_column = std::move(rday_column);
  out.sd_column = std::move(sd_column);
  if (settings.is_set("tleaf")) out.tleaf = settings.number("tleaf");
  if (settings.is_set("patm")) out.patm = settings.number("patm");
  return out;
}

SettingTable cut_settings() {
  static const std::array<Setting, 6> settings{{
      {.name = "cut",
       .kind = SettingKind::choice,
       .default_value = "auto",
       .choices = {"auto", "column", "samples", "blocks", "gap", "programme", "remarks", "file"},
       .help = "how the rows become curves; auto: the column of `curve`, else windows of the "
               "samples table, else blocks of the file, else pauses, else the file is one curve",
       .source = "docs/methods-logs.md"},
      {.name = "gap",
       .kind = SettingKind::number,
       .unit = "s",
       .default_value = "900",
       .low = 1,
       .help = "a longer pause between two rows begins a new curve, where the file is cut by gaps",
       .source = "common practice, no source"},
      {.name = "remark-column",
       .kind = SettingKind::text,
       .help = "column whose texts begin and name curves, where the file is cut by remarks; "
               "without it lines of text between the rows do",
       .source = "the user's own",
       .value_name = "COLUMN"},
      {.name = "rename",
       .kind = SettingKind::list,
       .help = "a mistyped curve id and the right one; the log stays as it is",
       .source = "the user's own",
       .value_name = "OLD=NEW"},
      {.name = "time-zone",
       .kind = SettingKind::text,
       .help =
           "zone of date and time, such as Europe/Berlin: midnight and changes of the clock are "
           "then counted through",
       .source = "the user's own",
       .value_name = "NAME"},
      {.name = "utc-offset",
       .kind = SettingKind::number,
       .unit = "h",
       .low = -14,
       .high = 14,
       .help = "offset of date and time from UTC, east positive, where no time zone is stated",
       .source = "the user's own"},
  }};
  return settings;
}

CutChoice cut_choice(const Settings& settings, std::optional<std::string> column) {
  CutChoice out;
  out.column = std::move(column);
  const std::string& by = settings.text("cut");
  for (const CutBy one : {CutBy::column, CutBy::samples, CutBy::blocks, CutBy::gap,
                          CutBy::programme, CutBy::remarks, CutBy::file}) {
    if (by == cut_by_name(one)) out.by = one;
  }
  out.gap_s = settings.number("gap");
  out.remark_column = settings.text("remark-column");
  out.renames = settings.list("rename");
  return out;
}

TimeChoice time_choice(const Settings& settings) {
  TimeChoice out;
  if (settings.is_set("utc-offset")) out.utc_offset = settings.number("utc-offset") * 3600;
  return out;
}

}  // namespace leafwright

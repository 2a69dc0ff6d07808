#include "study/sections.hpp"

#include <algorithm>
#include <array>
#include <stdexcept>

#include "air/settings.hpp"
#include "base/text.hpp"
#include "fit/fit.hpp"
#include "fit/joint_leaves.hpp"
#include "fit/operating.hpp"
#include "fit/response_table.hpp"
#include "log/cut.hpp"
#include "log/equalise.hpp"
#include "log/points.hpp"
#include "log/screen.hpp"
#include "log/select.hpp"
#include "log/steps.hpp"
#include "ramp/correction_settings.hpp"
#include "ramp/pair_settings.hpp"
#include "ramp/settings.hpp"
#include "stats/agreement_settings.hpp"
#include "stats/pool_run.hpp"

namespace leafwright {

const std::vector<SectionSpec>& study_sections() {
  static const std::vector<SectionSpec> sections = {
      {"flux",
       "From mole fractions to fluxes, and which rows are one curve.",
       {flux_settings(), cut_settings(), equalise_settings()}},
      {"screen",
       "Which rows are points, and which are left out.",
       {screen_settings(), continuous_settings(), step_settings()}},
      {"ramp",
       "How the gas path is found in records of the empty chamber, and ramps of CO2 corrected.",
       {correction_settings(), pair_settings(), condition_settings(), path_settings()}},
      {"fit",
       "How the model is fitted to each curve.",
       {pathway_settings(), points_settings(), fit_settings(), stomata_settings()}},
      {"response",
       "How fitted parameters follow temperature, A follows light, or gsw what drives it.",
       {response_settings()}},
      {"agree",
       "Whether two methods on the same leaves agree, such as ramps and steps.",
       {agreement_settings()}},
      {"pool",
       "Means of groups of leaves, from the fits of the study.",
       {pool_settings(), pool_rows_settings()}},
      {"together",
       "All leaves of a group fitted together, for single poor C3 curves.",
       {joint_settings(), together_rows_settings()}},
      {"compare", "How groups of leaves are compared.", {}},
      {"report", "How figures look; no number depends on them.", {figure_settings()}},
  };
  return sections;
}

SectionSettings::SectionSettings(const SectionSpec& spec) : spec_(&spec) {
  for (const SettingTable table : spec.tables) tables_.emplace_back(table);
}

bool SectionSettings::has(const std::string& name) const {
  return std::any_of(spec_->tables.begin(), spec_->tables.end(), [&](SettingTable table) {
    return std::any_of(table.begin(), table.end(),
                       [&](const Setting& setting) { return setting.name == name; });
  });
}

Result<void> SectionSettings::set(const std::string& name, const std::string& value,
                                  SettingOrigin origin) {
  std::vector<std::string> known;
  for (Settings& settings : tables_) {
    for (const Setting& setting : settings.table()) {
      if (setting.name == name) return settings.set(name, value, origin);
      known.push_back(setting.name);
    }
  }
  const std::string found = "unknown key '" + shortened(name) + "' in [" + spec_->name + "]";
  if (known.empty()) {
    return fail(ErrorCode::usage, found, "",
                "nothing can be set in [" + spec_->name + "] in this version");
  }
  return fail(ErrorCode::usage, found, "a name of an option", suggest_name(name, known));
}

const Settings& SectionSettings::of(SettingTable table) const {
  for (const Settings& settings : tables_) {
    if (settings.table().data() == table.data()) return settings;
  }
  throw std::logic_error("[" + spec_->name + "] has no such table of settings");
}

SettingTable pathway_settings() {
  static const std::array<Setting, 1> settings{{
      {.name = "pathway",
       .kind = SettingKind::choice,
       .choices = {"c3", "c4"},
       .help = "photosynthetic pathway of the leaves; required",
       .source = "no default: a C4 leaf fitted as C3 gives numbers without meaning"},
  }};
  return settings;
}

SettingTable continuous_settings() {
  static const std::array<Setting, 1> settings{{
      {.name = "continuous",
       .kind = SettingKind::choice,
       .default_value = "auto",
       .choices = {"auto", "on", "off"},
       .help =
           "whether each hold of CO2r in a log of steps becomes one point, the mean of its end; "
           "auto: where holds have at least 6 rows, in the median",
       .source = "common practice, no source"},
  }};
  return settings;
}

namespace {

Setting role_setting() {
  return {.name = "role",
          .kind = SettingKind::choice,
          .default_value = "steps",
          .choices = {"steps", "ramp", "all"},
          .help =
              "curves of which logs take part: ramps are another method than steps; all puts "
              "them together, and a leaf with both counts twice",
          .source = "methods are not mixed unasked"};
}

}  // namespace

SettingTable pool_rows_settings() {
  static const std::array<Setting, 2> settings{role_setting(), only_setting()};
  return settings;
}

SettingTable together_rows_settings() {
  static const std::array<Setting, 2> settings{{
      role_setting(),
      {.name = "group",
       .kind = SettingKind::text,
       .help = "column of the samples table that names each leaf's group; without it all leaves "
               "are one group",
       .source = "the user's own",
       .value_name = "COLUMN"},
  }};
  return settings;
}

SettingTable figure_settings() {
  static const std::array<Setting, 2> settings{{
      {.name = "figure-width",
       .kind = SettingKind::number,
       .unit = "mm",
       .default_value = "85",
       .low = 60,
       .high = 400,
       .help = "width of the figure of one curve; 85, 120 and 180 suit the columns of a journal",
       .source = "common practice, no source"},
      {.name = "theme",
       .kind = SettingKind::choice,
       .default_value = "light",
       .choices = {"light", "dark", "auto"},
       .help = "colours of figures; auto follows the viewer, light is for print",
       .source = "figures are printed more often than projected"},
  }};
  return settings;
}

}  // namespace leafwright

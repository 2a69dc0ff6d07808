// `leafwright fit`: points in, parameters per curve out.
#pragma once

#include "cli/command.hpp"

namespace leafwright::cli {

Command fit_command();

/// Settings that belong to the program rather than to a room: pathway, figure-width, theme.
SettingTable fit_call_settings();
SettingTable figure_settings();

}  // namespace leafwright::cli

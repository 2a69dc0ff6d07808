// `leafwright fit`: points in, parameters per curve out.
#pragma once

#include "cli/command.hpp"

namespace leafwright::cli {

Command fit_command();

}  // namespace leafwright::cli

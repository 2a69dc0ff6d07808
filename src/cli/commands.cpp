#include "cli/agree_command.hpp"
#include "cli/command.hpp"
#include "cli/fit_command.hpp"
#include "cli/flux_command.hpp"
#include "cli/look_command.hpp"
#include "cli/one_point_command.hpp"
#include "cli/pair_command.hpp"
#include "cli/path_command.hpp"
#include "cli/pool_command.hpp"
#include "cli/ramp_command.hpp"
#include "cli/rehearse_command.hpp"
#include "cli/response_command.hpp"
#include "cli/run_command.hpp"
#include "cli/settings_command.hpp"
#include "cli/together_command.hpp"

namespace leafwright::cli {

const std::vector<Command>& commands() {
  static const std::vector<Command> all = {
      look_command(),  flux_command(),     path_command(), ramp_command(),      pair_command(),
      fit_command(),   together_command(), pool_command(), one_point_command(), response_command(),
      agree_command(), rehearse_command(), run_command(),  settings_command(),  help_command()};
  return all;
}

}  // namespace leafwright::cli

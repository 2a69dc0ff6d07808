// leafwright: finds the command, parses the call, runs it, and says how it ended.
#include <fmt/format.h>

#include <algorithm>
#include <cstdio>
#include <exception>

#include "base/text.hpp"
#include "cli/command.hpp"
#include "cli/console.hpp"
#include "cli/help.hpp"
#include "cli/parse.hpp"
#include "cli/platform.hpp"

namespace leafwright::cli {

Exit exit_for(ErrorCode code) {
  switch (code) {
    case ErrorCode::usage:
      return Exit::usage;
    case ErrorCode::unreadable:
      return Exit::unreadable;
    case ErrorCode::refused:
      return Exit::refused;
    case ErrorCode::unfit:
      return Exit::partly;
    case ErrorCode::internal:
      return Exit::internal;
  }
  return Exit::internal;
}

namespace {

Exit print_and_end(Console& console, const std::string& text) {
  if (auto ok = console.print(text); !ok) {
    console.complain(ok.error());
    return exit_for(ok.error().code);
  }
  return Exit::done;
}

Exit unknown_command(Console& console, const std::string& name) {
  std::vector<std::string> known;
  for (const Command& command : commands()) known.push_back(command.name);
  const bool option = name.starts_with("-");
  Error error{ErrorCode::usage, {}, "", "", suggest_name(name, known)};
  error.found = fmt::format("unknown {} '{}'", option ? "option" : "command", shortened(name));
  if (option) error.hint = "'leafwright --help' shows what there is";
  console.complain(error);
  return Exit::usage;
}

Exit run(const std::vector<std::string>& arguments, Console& console) {
  if (arguments.empty()) {
    console.complain(program_help());
    return Exit::usage;
  }
  const std::string& name = arguments.front();
  if (name == "--version") return print_and_end(console, "leafwright " LEAFWRIGHT_VERSION "\n");
  if (name == "--help" || name == "-h") return print_and_end(console, program_help());
  const auto command = std::find_if(commands().begin(), commands().end(),
                                    [&](const Command& c) { return c.name == name; });
  if (command == commands().end()) return unknown_command(console, name);
  auto call = parse_call(*command, {arguments.begin() + 1, arguments.end()});
  if (!call) {
    console.complain(call.error());
    return exit_for(call.error().code);
  }
  if (!*call) return print_and_end(console, command_help(*command));
  console.set_quiet((*call)->has("quiet"));
  return command->run(**call, console);
}

}  // namespace
}  // namespace leafwright::cli

int main(int argc, char** argv) {
  using namespace leafwright::cli;
  try {
    binary_streams();
    watch_for_interrupt();
    Console console;
    return static_cast<int>(run({argv + std::min(argc, 1), argv + argc}, console));
  } catch (const std::exception& error) {
    std::fprintf(stderr,
                 "leafwright: internal error: %s\n"
                 "This is a fault of the program, not yours. Please report it with the command "
                 "and, if you can, the file.\n",
                 error.what());
  } catch (...) {
    std::fputs("leafwright: internal error of an unknown kind; please report it\n", stderr);
  }
  return static_cast<int>(Exit::internal);
}

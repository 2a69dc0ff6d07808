#include "cli/program.hpp"

#include <fcntl.h>
#include <fmt/format.h>
#include <signal.h>
#include <sys/wait.h>
#include <unistd.h>

#include <algorithm>
#include <chrono>
#include <cmath>
#include <fstream>
#include <sstream>
#include <stdexcept>
#include <thread>

namespace leafwright::cli_test {
namespace {
namespace fs = std::filesystem;

std::string text_of(const fs::path& path) {
  std::ifstream file(path, std::ios::binary);
  std::ostringstream text;
  text << file.rdbuf();
  return text.str();
}

/// Files for the three streams, outside the folder so that its names are the program's own.
struct Streams {
  fs::path in, out, err;
};

[[noreturn]] void become_program(const fs::path& folder, const std::vector<std::string>& arguments,
                                 const Streams& streams) {
  const std::string program = std::string(LEAFWRIGHT_BINARY_DIR) + "/leafwright";
  std::vector<char*> argv;
  argv.push_back(const_cast<char*>(program.c_str()));
  for (const std::string& argument : arguments) {
    argv.push_back(const_cast<char*>(argument.c_str()));
  }
  argv.push_back(nullptr);
  const int in = open(streams.in.c_str(), O_RDONLY);
  const int out = open(streams.out.c_str(), O_WRONLY | O_CREAT | O_TRUNC, 0600);
  const int err = open(streams.err.c_str(), O_WRONLY | O_CREAT | O_TRUNC, 0600);
  if (in < 0 || out < 0 || err < 0 || chdir(folder.c_str()) != 0) _exit(127);
  dup2(in, STDIN_FILENO);
  dup2(out, STDOUT_FILENO);
  dup2(err, STDERR_FILENO);
  execv(program.c_str(), argv.data());
  _exit(127);
}

Ended run_in(const fs::path& folder, const std::vector<std::string>& arguments,
             const std::string& input, double interrupt_after) {
  const fs::path scratch = folder.string() + ".streams";
  fs::create_directories(scratch);
  const Streams streams = {scratch / "in", scratch / "out", scratch / "err"};
  std::ofstream(streams.in, std::ios::binary) << input;
  const pid_t child = fork();
  if (child < 0) throw std::runtime_error("fork");
  if (child == 0) become_program(folder, arguments, streams);
  if (interrupt_after > 0) {
    std::this_thread::sleep_for(std::chrono::duration<double>(interrupt_after));
    kill(child, SIGINT);
  }
  int status = 0;
  waitpid(child, &status, 0);
  const int code = WIFEXITED(status) ? WEXITSTATUS(status) : 1000 + WTERMSIG(status);
  Ended run = {code, text_of(streams.out), text_of(streams.err)};
  fs::remove_all(scratch);
  return run;
}

}  // namespace

Folder::Folder() {
  std::string name = (fs::temp_directory_path() / "leafwright-cli-XXXXXX").string();
  if (mkdtemp(name.data()) == nullptr) throw std::runtime_error("no scratch folder");
  path_ = name;
}

Folder::~Folder() {
  std::error_code ignored;
  fs::permissions(path_, fs::perms::owner_all, fs::perm_options::add, ignored);
  fs::remove_all(path_, ignored);
}

void Folder::write(const std::string& name, const std::string& text) const {
  std::ofstream(path_ / name, std::ios::binary) << text;
}

std::string Folder::read(const std::string& name) const {
  return text_of(path_ / name);
}

bool Folder::has(const std::string& name) const {
  return fs::exists(path_ / name);
}

std::vector<std::string> Folder::names() const {
  std::vector<std::string> names;
  for (const auto& entry : fs::directory_iterator(path_)) {
    names.push_back(entry.path().filename().string());
  }
  std::sort(names.begin(), names.end());
  return names;
}

Ended Folder::run(const std::vector<std::string>& arguments, const std::string& input) const {
  return run_in(path_, arguments, input, 0);
}

Ended Folder::interrupted_run(const std::vector<std::string>& arguments, double seconds) const {
  return run_in(path_, arguments, "", seconds);
}

std::string points_csv(int curves) {
  constexpr double Km = 710.3, gamma = 42.75;
  std::string out = "curve_id,A,Ci,Tleaf,Patm,method\n";
  for (int c = 1; c <= curves; ++c) {
    const double V = 50 + 3.0 * c, J = 100 + 5.0 * c, Rday = 1;
    int i = 0;
    for (const double Ci :
         {45.0, 80.0, 120.0, 170.0, 230.0, 290.0, 380.0, 480.0, 620.0, 800.0, 1000.0, 1250.0}) {
      const double W = std::min(V * Ci / (Ci + Km), J * Ci / (4 * Ci + 8 * gamma));
      const double wiggle = 0.2 * std::sin(12.9898 * (12 * c + ++i));
      out += fmt::format("c{},{},{},25,101.325,{}\n", c, (1 - gamma / Ci) * W - Rday + wiggle, Ci,
                         c % 2 == 0 ? "steady" : "ramp");
    }
  }
  return out;
}

}  // namespace leafwright::cli_test

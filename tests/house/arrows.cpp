#include "house/arrows.hpp"

#include <regex>
#include <sstream>
#include <stdexcept>

namespace leafwright::house {
namespace {

/// "src/fit/x.cpp" -> "fit"; "" outside src/.
std::string room_of(const std::string& path) {
  if (!path.starts_with("src/")) return "";
  const std::size_t end = path.find('/', 4);
  return end == std::string::npos ? "" : path.substr(4, end - 4);
}

std::vector<std::string> words_of(const std::string& text) {
  std::istringstream in(text);
  std::vector<std::string> words;
  for (std::string word; in >> word;) words.push_back(word);
  return words;
}

std::string without_comments(const std::string& cmake_text) {
  std::string out;
  for (const std::string& line : lines_of(cmake_text)) out += line.substr(0, line.find('#')) + "\n";
  return out;
}

std::set<std::string> closure(const Rooms& rooms, const std::vector<std::string>& words,
                              const std::string& name) {
  std::set<std::string> all;
  bool in_deps = false;
  for (const std::string& word : words) {
    if (word == "DEPS" || word == "LIBS" || word == "EDGE") {
      in_deps = word == "DEPS";
    } else if (in_deps && word == "core") {
      all.insert(rooms.core.begin(), rooms.core.end());
    } else if (in_deps) {
      const auto found = rooms.leans_on.find(word);
      if (found == rooms.leans_on.end()) {
        throw std::runtime_error("room " + name + " leans on " + word + ", not declared before it");
      }
      all.insert(word);
      all.insert(found->second.begin(), found->second.end());
    }
  }
  return all;
}

struct Include {
  std::size_t line;
  bool own;  ///< "..." rather than <...>
  std::string name;
};

std::vector<Include> includes_of(const std::string& text) {
  static const std::regex form(R"re(^\s*#\s*include\s*(["<])([^">]+)[">].*)re");
  std::vector<Include> found;
  const std::vector<std::string> lines = lines_of(code_of(text, true));
  std::smatch match;
  for (std::size_t i = 0; i < lines.size(); ++i) {
    if (lines[i].find("include") != std::string::npos && std::regex_match(lines[i], match, form)) {
      found.push_back({i + 1, match[1] == "\"", match[2]});
    }
  }
  return found;
}

std::string at(const File& file, std::size_t line) {
  return file.path + ":" + std::to_string(line) + ": ";
}

bool is_cpp(const std::string& path) {
  return ends_in(path, {".cpp", ".hpp"});
}

}  // namespace

Rooms read_rooms(const std::string& cmake_text) {
  static const std::regex form(R"re((leafwright_room|leafwright_program)\(([^)]*)\))re");
  Rooms rooms;
  const std::string text = without_comments(cmake_text);
  for (auto it = std::sregex_iterator(text.begin(), text.end(), form); it != std::sregex_iterator();
       ++it) {
    const std::vector<std::string> words = words_of((*it)[2]);
    const bool program = (*it)[1] == "leafwright_program";
    const std::string name = program ? room_of(words.at(1) + "/") : words.at(0);
    const bool edge = program || (words.size() > 1 && words[1] == "EDGE");
    rooms.leans_on[name] = closure(rooms, words, name);
    if (!edge) rooms.core.insert(name);
  }
  return rooms;
}

Faults wrong_arrows(const std::vector<File>& files, const Rooms& rooms) {
  Faults faults;
  for (const File& file : files) {
    const std::string room = room_of(file.path);
    if (room.empty() || !is_cpp(file.path)) continue;
    const auto known = rooms.leans_on.find(room);
    if (known == rooms.leans_on.end()) {
      faults.push_back(file.path + ": room " + room + " is not declared in CMakeLists.txt");
      continue;
    }
    for (const Include& include : includes_of(file.text)) {
      if (!include.own) continue;
      const std::size_t slash = include.name.find('/');
      if (slash == std::string::npos || include.name.starts_with("..")) {
        faults.push_back(at(file, include.line) + "\"" + include.name +
                         "\"; expected \"room/file.hpp\"");
        continue;
      }
      const std::string other = include.name.substr(0, slash);
      if (other != room && !known->second.contains(other)) {
        faults.push_back(at(file, include.line) + room + " leans on " + other +
                         ", an arrow that CMakeLists.txt does not draw");
      }
    }
  }
  return faults;
}

Faults impure_core(const std::vector<File>& files, const Rooms& rooms) {
  static const std::set<std::string> barred = {
      "thread",     "mutex",           "shared_mutex", "future",     "condition_variable",
      "fstream",    "iostream",        "chrono",       "ctime",      "time.h",
      "filesystem", "csignal",         "cassert",      "random",     "format",
      "expected",   "source_location", "stop_token",   "syncstream", "print",
      "unistd.h",   "assert.h",        "iomanip",      "locale",     "stdio.h",
      "signal.h"};
  static const std::regex call(
      R"re((^|[^A-Za-z0-9_.>])(std::)?(cout|cerr|clog|printf|fprintf|puts|abort|exit|_exit|quick_exit|getenv|setlocale|rand|system|fopen)\b)re");
  Faults faults;
  for (const File& file : files) {
    if (!is_cpp(file.path) || !rooms.core.contains(room_of(file.path))) continue;
    for (const Include& include : includes_of(file.text)) {
      if (!include.own && barred.contains(include.name)) {
        faults.push_back(at(file, include.line) + "<" + include.name + "> in a core room");
      }
    }
    const std::vector<std::string> lines = lines_of(code_of(file.text));
    std::smatch match;
    for (std::size_t i = 0; i < lines.size(); ++i) {
      if (std::regex_search(lines[i], match, call)) {
        faults.push_back(at(file, i + 1) + match[3].str() + " in a core room");
      }
    }
  }
  return faults;
}

Faults heavy_headers(const std::vector<File>& files) {
  static const std::regex heavy(
      R"re((Eigen|boost|nlohmann|toml\+\+|CLI|fmt|fast_float|unsupported)/.*|toml\.hpp)re");
  std::map<std::string, std::string> private_headers;  // "room/file.hpp" -> the library
  for (const File& file : files) {
    if (!file.path.starts_with("src/") || !file.path.ends_with(".hpp")) continue;
    for (const Include& include : includes_of(file.text)) {
      if (!include.own && std::regex_match(include.name, heavy)) {
        private_headers[file.path.substr(4)] = include.name;
      }
    }
  }
  Faults faults;
  for (const File& file : files) {
    if (!file.path.starts_with("src/") || !is_cpp(file.path)) continue;
    for (const Include& include : includes_of(file.text)) {
      const auto found = private_headers.find(include.name);
      if (!include.own || found == private_headers.end()) continue;
      const bool own_source =
          file.path.ends_with(".cpp") && found->first.starts_with(room_of(file.path) + "/");
      if (!own_source) {
        faults.push_back(at(file, include.line) + "\"" + found->first + "\" brings <" +
                         found->second + ">; expected only in .cpp files of its own room");
      }
    }
  }
  return faults;
}

}  // namespace leafwright::house

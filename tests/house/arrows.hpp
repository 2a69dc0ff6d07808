// The arrows between the rooms of src/: read from CMakeLists.txt, checked against the includes.
#pragma once

#include <map>
#include <set>
#include <string>
#include <vector>

#include "house/tree.hpp"

namespace leafwright::house {

/// The rooms as the leafwright_room and leafwright_program lines of CMakeLists.txt draw them.
struct Rooms {
  std::map<std::string, std::set<std::string>> leans_on;  ///< with all that those lean on
  std::set<std::string> core;
};

/// Throws std::runtime_error for a room that leans on one not declared before it, so that the
/// graph cannot have a circle.
Rooms read_rooms(const std::string& cmake_text);

/// Includes in src/ that go against the arrows, and files in a room that is not declared.
Faults wrong_arrows(const std::vector<File>& files, const Rooms& rooms);

/// What the core must not do: threads, files, clocks, printing, aborting; and what the C++ library
/// of emscripten 3.1 and clang 14 lacks.
Faults impure_core(const std::vector<File>& files, const Rooms& rooms);

/// A header of src/ that includes a library that is slow to compile is private to its room: it is
/// not installed, and only .cpp files of that room may include it.
Faults heavy_headers(const std::vector<File>& files);

}  // namespace leafwright::house

// Notes: what a result's reader must know (an assumption made, a flag, a caution). They travel
// with the result into JSON, CSV and figures; nothing is assumed silently.
#pragma once

#include <string>
#include <vector>

namespace leafwright {

/// How much a note matters to the reader.
enum class NoteLevel {
  info,     ///< an assumption or a fact about how the number was made
  caution,  ///< plausible, but look at it (a range flag, a short extrapolation)
  warning,  ///< the number should not be used without thought
};

/// One note. `about` is a stable short key (such as "tpu-not-identified"); `text` is for people.
struct Note {
  NoteLevel level = NoteLevel::info;
  std::string about;
  std::string text;
};

using Notes = std::vector<Note>;

/// "info", "caution" or "warning".
inline const char* level_name(NoteLevel level) {
  switch (level) {
    case NoteLevel::info:
      return "info";
    case NoteLevel::caution:
      return "caution";
    case NoteLevel::warning:
      return "warning";
  }
  return "info";
}

}  // namespace leafwright

// Notes of many curves, the same one printed once.
#pragma once

#include <cstddef>
#include <string>
#include <string_view>
#include <vector>

#include "base/note.hpp"

namespace leafwright {

/// Collects notes and gives every kind (its `about`) a letter, in the order of first appearance;
/// notes about the whole get a dash.
class NoteGroups {
 public:
  /// Adds the notes of one curve ("" for notes about the whole), and returns the letters, such as
  /// "a c", with "!" behind those that are warnings.
  std::string add(std::string_view curve, const Notes& notes);

  /// "\nNotes\n" and one paragraph a kind, the worst kinds first: letter, level, how many curves,
  /// and the text; where the texts differ, the first as an example. "" without any.
  [[nodiscard]] std::string text() const;

 private:
  struct Group {
    Note first;
    std::string curve;  ///< of the first
    std::size_t curves = 0;
    bool same_text = true;
    std::string letter;
  };
  Group& group_of(std::string_view curve, const Note& note);
  std::vector<Group> groups_;
  std::size_t lettered_ = 0;
};

}  // namespace leafwright

// Notes of many curves, the same one printed once.
#pragma once

#include <cstddef>
#include <string>
#include <string_view>
#include <vector>

#include "base/note.hpp"

namespace leafwright {

/// Collects notes, then gives every kind (its `about`) of notes about curves a letter, the worst
/// kinds first. Notes about the whole get a dash.
class NoteGroups {
 public:
  /// Adds the notes of one curve, or about the whole (curve "").
  void add(std::string_view curve, const Notes& notes);

  /// The letters of these notes of a curve, such as "a! c": "!" stands behind warnings. Notes that
  /// were not added have none.
  [[nodiscard]] std::string letters(const Notes& notes) const;

  /// "\nNotes\n" and one paragraph a kind, the worst first: letter, level, how many curves, and the
  /// text; where the texts differ, the first of the worst as an example. "" without any.
  [[nodiscard]] std::string text() const;

 private:
  struct Group {
    Note worst;         ///< the first of the highest level
    std::string curve;  ///< its curve; "" for the whole
    std::size_t curves = 0;
    std::size_t at_worst = 0;  ///< of these, how many have that level
    bool same_text = true;
  };
  [[nodiscard]] std::vector<const Group*> worst_first() const;
  std::vector<Group> groups_;  ///< in order of appearance
};

}  // namespace leafwright

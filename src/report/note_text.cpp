#include "report/note_text.hpp"

#include <fmt/format.h>

#include <algorithm>

#include "base/text.hpp"
#include "report/text_table.hpp"

namespace leafwright {
namespace {

/// 0 -> "a", 25 -> "z", 26 -> "aa".
std::string letters(std::size_t n) {
  std::string out;
  for (++n; n > 0; n = (n - 1) / 26) out.insert(out.begin(), static_cast<char>('a' + (n - 1) % 26));
  return out;
}

}  // namespace

NoteGroups::Group& NoteGroups::group_of(std::string_view curve, const Note& note) {
  const bool whole = curve.empty();
  for (Group& group : groups_) {
    // Notes about the whole stand by themselves, each with its own text.
    if (group.first.about != note.about || group.curve.empty() != whole) continue;
    if (whole && group.first.text != note.text) continue;
    if (group.first.level != note.level) continue;
    group.same_text = group.same_text && group.first.text == note.text;
    return group;
  }
  groups_.push_back({note, std::string(curve), 0, true, whole ? "-" : letters(lettered_++)});
  return groups_.back();
}

std::string NoteGroups::add(std::string_view curve, const Notes& notes) {
  std::string out;
  for (const Note& note : notes) {
    Group& group = group_of(curve, note);
    ++group.curves;
    const std::string mark = group.letter + (note.level == NoteLevel::warning ? "!" : "");
    if (out.find(mark) == std::string::npos) out += (out.empty() ? "" : " ") + mark;
  }
  return out;
}

std::string NoteGroups::text() const {
  if (groups_.empty()) return "";
  std::vector<const Group*> order;
  for (const Group& group : groups_) order.push_back(&group);
  std::stable_sort(order.begin(), order.end(),
                   [](const Group* a, const Group* b) { return a->first.level > b->first.level; });
  std::string out = "\nNotes\n";
  for (const Group* group : order) {
    const bool whole = group->curve.empty();
    std::string line = group->letter;
    if (group->first.level != NoteLevel::info)
      line += fmt::format(" {}", level_name(group->first.level));
    if (!whole) {
      line += group->curves == 1 ? " (" + group->curve + ")"
                                 : fmt::format(" ({} curves)", group->curves);
    }
    line += whole && group->first.level == NoteLevel::info ? " " : ": ";
    if (!group->same_text) line += "such as " + group->curve + ": ";
    out += wrapped(line + group->first.text, 2, 2);
  }
  return out;
}

}  // namespace leafwright

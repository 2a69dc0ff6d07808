#include "report/note_text.hpp"

#include <fmt/format.h>

#include <algorithm>

#include "report/text_table.hpp"

namespace leafwright {
namespace {

/// 0 -> "a", 25 -> "z", 26 -> "aa".
std::string letter(std::size_t n) {
  std::string out;
  for (++n; n > 0; n = (n - 1) / 26) out.insert(out.begin(), static_cast<char>('a' + (n - 1) % 26));
  return out;
}

}  // namespace

void NoteGroups::add(std::string_view curve, const Notes& notes) {
  const bool whole = curve.empty();
  for (const Note& note : notes) {
    const auto same_kind = [&](const Group& group) {
      if (group.first.about != note.about || group.first.level != note.level) return false;
      // Notes about the whole stand by themselves, each with its own text.
      return group.curve.empty() == whole && (!whole || group.first.text == note.text);
    };
    const auto known = std::find_if(groups_.begin(), groups_.end(), same_kind);
    if (known != groups_.end()) {
      ++known->curves;
      known->same_text = known->same_text && known->first.text == note.text;
      continue;
    }
    const auto less_bad = std::find_if(groups_.begin(), groups_.end(), [&](const Group& group) {
      return group.first.level < note.level;
    });
    groups_.insert(less_bad, {note, std::string(curve), 1, true});
  }
}

std::string NoteGroups::letters(const Notes& notes) const {
  std::string out;
  std::size_t lettered = 0;
  for (const Group& group : groups_) {
    if (group.curve.empty()) continue;
    const std::size_t place = lettered++;
    const bool here = std::any_of(notes.begin(), notes.end(), [&](const Note& note) {
      return note.about == group.first.about && note.level == group.first.level;
    });
    if (!here) continue;
    out += (out.empty() ? "" : " ") + letter(place);
    if (group.first.level == NoteLevel::warning) out += '!';
  }
  return out;
}

std::string NoteGroups::text() const {
  std::string out;
  std::size_t lettered = 0;
  for (const Group& group : groups_) {
    const bool whole = group.curve.empty();
    std::string head = whole ? "-" : letter(lettered++);
    if (group.first.level != NoteLevel::info)
      head += fmt::format(" {}", level_name(group.first.level));
    if (!whole && group.curves == 1) head += " (" + group.curve + ")";
    if (!whole && group.curves > 1) head += fmt::format(" ({} curves)", group.curves);
    head += head == "-" ? " " : ": ";
    if (!group.same_text) head += "such as " + group.curve + ": ";
    out += wrapped(head + group.first.text, 2, 2);
  }
  return out.empty() ? "" : "\nNotes\n" + out;
}

}  // namespace leafwright

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
    const auto known = std::find_if(groups_.begin(), groups_.end(), [&](const Group& group) {
      // Notes about the whole stand by themselves, each with its own text.
      return group.worst.about == note.about && group.curve.empty() == whole &&
             (!whole || group.worst.text == note.text);
    });
    if (known == groups_.end()) {
      groups_.push_back({note, std::string(curve), 1, 1, true});
      continue;
    }
    ++known->curves;
    known->same_text = known->same_text && known->worst.text == note.text;
    if (note.level == known->worst.level) ++known->at_worst;
    if (note.level > known->worst.level) {
      known->worst = note;
      known->curve = curve;
      known->at_worst = 1;
    }
  }
}

std::vector<const NoteGroups::Group*> NoteGroups::worst_first() const {
  std::vector<const Group*> order;
  for (const Group& group : groups_) order.push_back(&group);
  std::stable_sort(order.begin(), order.end(),
                   [](const Group* a, const Group* b) { return a->worst.level > b->worst.level; });
  return order;
}

std::string NoteGroups::letters(const Notes& notes) const {
  std::string out;
  std::size_t lettered = 0;
  for (const Group* group : worst_first()) {
    if (group->curve.empty()) continue;
    const std::size_t place = lettered++;
    const auto here = std::find_if(notes.begin(), notes.end(), [&](const Note& note) {
      return note.about == group->worst.about;
    });
    if (here == notes.end()) continue;
    out += (out.empty() ? "" : " ") + letter(place);
    if (here->level == NoteLevel::warning) out += '!';
  }
  return out;
}

std::string NoteGroups::text() const {
  std::string out;
  std::size_t lettered = 0;
  for (const Group* group : worst_first()) {
    const bool whole = group->curve.empty();
    const bool mixed = group->at_worst < group->curves;
    std::string head = whole ? "-" : letter(lettered++);
    if (group->worst.level != NoteLevel::info)
      head += fmt::format(" {}", level_name(group->worst.level));
    if (!whole && mixed) head += fmt::format(" for {} of", group->at_worst);
    if (!whole && group->curves == 1) head += " (" + group->curve + ")";
    if (!whole && group->curves > 1) {
      head += mixed ? fmt::format(" {} curves", group->curves)
                    : fmt::format(" ({} curves)", group->curves);
    }
    head += head == "-" ? " " : ": ";
    if (!group->same_text) head += "such as " + group->curve + ": ";
    out += wrapped(head + group->worst.text, 2, 2);
  }
  return out.empty() ? "" : "\nNotes\n" + out;
}

}  // namespace leafwright

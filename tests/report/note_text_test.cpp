#include "report/note_text.hpp"

#include <gtest/gtest.h>

namespace leafwright {
namespace {

Note note(NoteLevel level, const char* about, const char* text) {
  return {level, about, text};
}

TEST(NoteGroups, TheSameNoteOfManyCurvesIsPrintedOnce) {
  NoteGroups groups;
  const Notes moved = {note(NoteLevel::info, "rows-not-used", "1 row not used")};
  groups.add("a", moved);
  groups.add("b", moved);
  EXPECT_EQ(groups.letters(moved), "a");
  EXPECT_EQ(groups.text(), "\nNotes\n  a (2 curves): 1 row not used\n");
}

TEST(NoteGroups, WhereTextsDifferTheFirstStandsAsAnExample) {
  NoteGroups groups;
  groups.add("a", {note(NoteLevel::caution, "few", "only 1 degree of freedom")});
  groups.add("b", {note(NoteLevel::caution, "few", "only 2 degrees of freedom")});
  EXPECT_EQ(groups.text(),
            "\nNotes\n  a caution (2 curves): such as a: only 1 degree of freedom\n");
}

TEST(NoteGroups, WarningsComeFirstAndAreMarked) {
  NoteGroups groups;
  const Notes both = {note(NoteLevel::info, "x", "fine"),
                      note(NoteLevel::warning, "y", "flat curve")};
  groups.add("a", both);
  groups.add("b", {note(NoteLevel::caution, "z", "short")});
  EXPECT_EQ(groups.letters(both), "a! c");
  EXPECT_EQ(groups.text(),
            "\nNotes\n  a warning (a): flat curve\n  b caution (b): short\n  c (a): fine\n");
}

TEST(NoteGroups, OneKindAtSeveralLevelsIsShownByItsWorst) {
  NoteGroups groups;
  const Notes mild = {note(NoteLevel::info, "moved", "by 0.1 K")};
  const Notes bad = {note(NoteLevel::warning, "moved", "by 9 K")};
  groups.add("a", mild);
  groups.add("b", bad);
  EXPECT_EQ(groups.letters(mild), "a");
  EXPECT_EQ(groups.letters(bad), "a!");
  EXPECT_EQ(groups.text(), "\nNotes\n  a warning for 1 of 2 curves: such as b: by 9 K\n");
}

TEST(NoteGroups, NotesAboutTheWholeStandByThemselves) {
  NoteGroups groups;
  groups.add("", {note(NoteLevel::info, "unit", "A in umol"), note(NoteLevel::info, "unit", "B")});
  EXPECT_EQ(groups.text(), "\nNotes\n  - A in umol\n  - B\n");
}

TEST(NoteGroups, NothingToSayIsNoText) {
  EXPECT_EQ(NoteGroups().text(), "");
}

}  // namespace
}  // namespace leafwright

#include "bench/book/notes.hpp"

#include "tests/bench/book/a_workshop.hpp"

#include <gtest/gtest.h>

#include <fstream>

namespace dropledger::book {

namespace {

class Notes : public testing::Test {
protected:
    Workshop workshop;
    std::string book = workshop.path("bench.book");
};

TEST_F(Notes, ComeBackAsTheyWereWritten) {
    EXPECT_TRUE(notes_beside(book).value().empty());
    const Note disc{"2026-01-05T12:30:00Z", NoteKind::repair, "U 1", "disc changed,\n100 % new"};
    const Note wrong{"2026-01-06T08:00:00Z", NoteKind::removed, "run-7", "wrong seed"};
    ASSERT_TRUE(add_note(book, disc));
    ASSERT_TRUE(add_note(book, wrong));
    const auto notes = notes_beside(book).value();
    ASSERT_EQ(notes.size(), 2U);
    EXPECT_EQ(notes[0].about, disc.about);
    EXPECT_EQ(notes[0].text, disc.text);
    EXPECT_EQ(notes[1].kind, NoteKind::removed);
    EXPECT_EQ(notes[1].time, wrong.time);
}

TEST_F(Notes, ThatCannotBeReadAreAnErrorWithTheirLine) {
    ASSERT_TRUE(add_note(book, {"2026-01-05T12:30:00Z", NoteKind::repair, "U-1", "disc"}));
    std::ofstream(notes_file(book), std::ios::app) << "scribble\n";
    const auto notes = notes_beside(book);
    ASSERT_FALSE(notes);
    EXPECT_NE(notes.error().where.find(":2"), std::string::npos);
}

} // namespace

} // namespace dropledger::book

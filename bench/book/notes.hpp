// What people say of units and runs, kept beside the book: repairs, and runs taken out of it.
//
// A file of its own, BOOK.notes, one line a note, only ever added to: the book itself follows from
// the other files and is made anew from them, and a note must outlive that.
// Assumes: a line is the time (RFC 3339 UTC), the kind, whom it is about and the text, parted by
// commas; the latter two are percent-encoded.
// Undefined when: there is no such file: no notes. A line that can't be read is an error with its
// place: nothing that somebody wrote is passed over.
#pragma once

#include "analysis/base/enum_names.hpp"
#include "analysis/base/result.hpp"
#include "bench/book/book.hpp"

#include <array>
#include <cstdint>
#include <string>
#include <vector>

namespace dropledger::book {

enum class NoteKind : std::uint8_t {
    repair,  // about a unit: what it did before is no measure of what it does now
    removed, // about a run, by its id: it stays out of the book
};
inline constexpr std::array note_kind_names{EnumName{NoteKind::repair, "repair"},
                                            EnumName{NoteKind::removed, "removed"}};
static_assert(names_all<note_kind_names>());

struct Note {
    std::string time;
    NoteKind kind = NoteKind::repair;
    std::string about;
    std::string text;
};

[[nodiscard]] std::string notes_file(const std::string& book);
[[nodiscard]] Result<std::vector<Note>> notes_beside(const std::string& book);
[[nodiscard]] Status add_note(const std::string& book, const Note& note);

} // namespace dropledger::book

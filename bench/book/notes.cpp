#include "bench/book/notes.hpp"

#include "analysis/base/dates.hpp"
#include "analysis/base/text.hpp"
#include "bench/io/file_lock.hpp"
#include "bench/io/file_source.hpp"
#include "bench/io/write_aside.hpp"

#include <fmt/format.h>

#include <filesystem>
#include <optional>

namespace dropledger::book {

namespace {

constexpr std::size_t most_bytes = std::size_t{4} << 20U;

std::string line_of(const Note& note) {
    return fmt::format("{},{},{},{}\n", note.time, row_in(note_kind_names, note.kind).key,
                       percent_encode(note.about), percent_encode(note.text));
}

std::optional<Note> note_in(std::string_view line) {
    const auto fields = split(line, ',');
    if (fields.size() != 4 || !parse_rfc3339(fields[0], 0))
        return std::nullopt;
    const auto kind = value_named(note_kind_names, fields[1]);
    auto about = percent_decode(fields[2]);
    auto text = percent_decode(fields[3]);
    if (!kind || !about || !text)
        return std::nullopt;
    return Note{std::string(fields[0]), *kind, *std::move(about), *std::move(text)};
}

Result<std::string> text_of(const std::string& file) {
    if (!std::filesystem::exists(file))
        return std::string{};
    return files::whole_file(file, most_bytes);
}

} // namespace

std::string notes_file(const std::string& book) {
    return book + ".notes";
}

Result<std::vector<Note>> notes_beside(const std::string& book) {
    const std::string file = notes_file(book);
    const auto text = text_of(file);
    if (!text)
        return text.error();
    std::vector<Note> notes;
    int number = 0;
    for (const std::string_view line : split(*text, '\n')) {
        ++number;
        if (line.empty())
            continue;
        auto note = note_in(line);
        if (!note)
            return input_error(fmt::format("{}:{}", file, number), "no note of a bench book",
                               "write notes with dropledger book note; mend or take out this line");
        notes.push_back(*std::move(note));
    }
    return notes;
}

Status add_note(const std::string& book, const Note& note) {
    const std::string file = notes_file(book);
    if (!std::filesystem::exists(file))
        return files::write_new_file(file, line_of(note));
    const auto lock = files::FileLock::hold(file);
    if (!lock)
        return lock.error();
    const auto text = text_of(file);
    if (!text)
        return text.error();
    return files::write_file_aside(file, *text + line_of(note));
}

} // namespace dropledger::book

#include "bench/commands/book/book.hpp"
#include "bench/commands/shell/answer.hpp"
#include "bench/commands/shell/dates.hpp"
#include "bench/commands/shell/usage.hpp"

#include "analysis/base/dates.hpp"
#include "bench/book/notes.hpp"
#include "bench/commands/inputs/books.hpp"

#include <fmt/format.h>
#include <nlohmann/json.hpp>

#include <filesystem>

namespace dropledger::cli {

namespace {

using Json = nlohmann::ordered_json;

constexpr const char* note_schema = "dropledger/book-note/1";
constexpr const char* remove_schema = "dropledger/book-remove/1";

struct Noted {
    book::Note note;
    std::string file; // of the log that stays
};

Result<Noted> write_note(const BookOptions& options) {
    const auto unit = unit_in_book(options);
    if (!unit)
        return unit.error();
    if (const Status text = check_text("TEXT", options.text); !text)
        return text.error();
    if (options.day && !is_date(*options.day))
        return usage("--date", fmt::format("'{}' is no date", *options.day), "YYYY-MM-DD");
    // A repair of a day stands before that day's runs.
    const std::string time = options.day ? *options.day + "T00:00:00Z" : now_utc();
    const book::Note note{time, book::NoteKind::repair, unit->name, options.text};
    if (const Status written = book::add_note(options.book, note); !written)
        return written.error();
    return Noted{note, ""};
}

// By its id, by its log as the book names it, or by the log's own name.
Result<book::Run> run_named(const book::Book& book, const std::string& name) {
    const auto runs = book.runs();
    if (!runs)
        return runs.error();
    const book::Run* found = nullptr;
    for (const book::Run& run : *runs) {
        if (run.run_id != name && run.file != name &&
            std::filesystem::path(run.file).filename() != std::filesystem::path(name).filename())
            continue;
        if (found != nullptr)
            return usage("RUN", fmt::format("'{}' may be {} or {}", name, found->file, run.file),
                         "name the run by its id (dropledger book list --json)");
        found = &run;
    }
    if (found == nullptr)
        return usage("RUN", fmt::format("no run '{}' is in the book", name),
                     "dropledger book list shows the logs that are");
    return *found;
}

Result<Noted> remove(const BookOptions& options) {
    auto book = open_book(options.book, false);
    if (!book)
        return book.error();
    const auto run = run_named(*book, options.unit);
    if (!run)
        return run.error();
    if (const Status text = check_text("REASON", options.text); !text)
        return text.error();
    const book::Note note{now_utc(), book::NoteKind::removed, run->run_id, options.text};
    if (const Status written = book::add_note(options.book, note); !written)
        return written.error();
    const Status removed = book->change([&](book::Book& open) -> Status {
        open.remove_run(run->run_id);
        return Done{};
    });
    if (!removed)
        return removed.error();
    return Noted{note, run->file};
}

Answer<BookOptions, Noted> answer_with(const char* schema,
                                       Result<Noted> (*find)(const BookOptions&)) {
    return {.find = find,
            .json =
                [schema](const Noted& noted) {
                    return Json{{"schema", schema},
                                {"time", noted.note.time},
                                {"about", noted.note.about},
                                {"text", noted.note.text},
                                {"file", noted.file}};
                },
            .text =
                [](const Noted& noted) {
                    TextPage page;
                    if (noted.file.empty())
                        page.add("noted for {}: {}\n", noted.note.about, noted.note.text);
                    else
                        page.add("taken out of the book: {} ({}); the file stays\n", noted.file,
                                 noted.note.text);
                    return page.text();
                }};
}

} // namespace

Status note_repair(const BookOptions& options) {
    const auto noted = write_note(options);
    return noted ? Status{Done{}} : Status{noted.error()};
}

void add_book_note(Command& book) {
    const auto options = std::make_shared<BookOptions>();
    Command command = book.subcommand("note", "mark a repair of a unit");
    command.option("UNIT", options->unit, "serial number of the unit")
        .required("UNIT")
        .option("TEXT", options->text, "what was done: \"disc changed\"")
        .required("TEXT")
        .option("--date", options->day, "its day, YYYY-MM-DD; now where not said")
        .option("--book", options->book, "the book")
        .manual("book_note");
    answers(command, options, answer_with(note_schema, write_note));
}

void add_book_remove(Command& book) {
    const auto options = std::make_shared<BookOptions>();
    Command command = book.subcommand("remove", "take a wrong run out of the book; its file stays");
    command.option("RUN", options->unit, "the run's log, or its id")
        .required("RUN")
        .option("REASON", options->text, "why: \"wrong seed in the hopper\"")
        .required("REASON")
        .option("--book", options->book, "the book")
        .manual("book_remove");
    answers(command, options, answer_with(remove_schema, remove));
}

} // namespace dropledger::cli

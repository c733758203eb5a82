#include "analysis/base/readers/or_null.hpp"
#include "bench/commands/book/book.hpp"
#include "bench/commands/shell/answer.hpp"
#include "bench/commands/shell/dates.hpp"

#include "analysis/base/dates.hpp"
#include "analysis/base/version.hpp"
#include "analysis/measures/number_words.hpp"
#include "bench/book/judging.hpp"
#include "bench/book/notes.hpp"
#include "bench/commands/inputs/books.hpp"

#include <fmt/format.h>

#include <algorithm>

namespace dropledger::cli {

namespace {

using Json = nlohmann::ordered_json;

struct Contents {
    std::vector<book::Unit> units;
    std::vector<book::Run> runs;
    std::vector<book::SeedLot> seed_lots;
    std::vector<calibration::Record> calibrations;
    std::vector<book::TextEntry> profiles;
    std::vector<book::Batch> batches;
    std::vector<book::Note> notes;
    std::string today;

    [[nodiscard]] std::vector<std::string> due_for(const book::Unit& unit) const;
};

// A repair that no run has followed yet.
std::optional<std::string> due_after_repair(const std::vector<book::Note>& notes,
                                            const book::Unit& unit) {
    std::optional<std::string> due;
    for (const book::Note& note : notes)
        if (note.kind == book::NoteKind::repair && note.about == unit.unit && note.time > unit.last)
            due = fmt::format("run it after the repair of {}: {}", note.time.substr(0, 10),
                              note.text);
    return due;
}

std::optional<std::string> due_of_calibration(const calibration::Record& record,
                                              const std::string& today) {
    constexpr int soon_days = 30;
    const auto last = parse_day(record.expires);
    const auto now = parse_day(today);
    if (!last || !now || *last - *now > soon_days)
        return std::nullopt;
    return *last < *now ? fmt::format("calibration {} expired on {}", record.id, record.expires)
                        : fmt::format("calibration {} expires on {}", record.id, record.expires);
}

std::vector<std::string> Contents::due_for(const book::Unit& unit) const {
    std::vector<std::string> due;
    if (auto after = due_after_repair(notes, unit))
        due.push_back(*std::move(after));
    else if (unit.last_outcome == verdict::Outcome::outside)
        due.emplace_back("repair it, note the repair, run it again");
    else if (unit.last_outcome == verdict::Outcome::undecided)
        due.emplace_back("not decided: see what its last audit asks for");
    for (const calibration::Record& record : calibrations)
        if (record.holds_for.unit == unit.unit)
            if (auto one = due_of_calibration(record, today))
                due.push_back(*std::move(one));
    return due;
}

template <class T> Status take(Result<T> found, T& into) {
    if (!found)
        return found.error();
    into = *std::move(found);
    return Done{};
}

Result<Contents> contents_of(const BookOptions& options) {
    const auto book = open_book(options.book, false);
    if (!book)
        return book.error();
    Contents all;
    for (const Status& status :
         {take(book->units(), all.units), take(book->runs(), all.runs),
          take(book->seed_lots(), all.seed_lots),
          take(book::calibration_records(*book), all.calibrations),
          take(book->profiles(), all.profiles), take(book->batches(), all.batches),
          take(book::notes_beside(options.book), all.notes)})
        if (!status)
            return status.error();
    all.today = today_utc();
    return all;
}

Json json_of(const book::Unit& one, const std::vector<std::string>& due) {
    return {{"unit", one.unit},
            {"runs", one.runs},
            {"first", one.first},
            {"last", one.last},
            {"last_outcome", name_of(one.last_outcome)},
            {"due", due}};
}

Json json_of(const book::Run& one) {
    return {{"run", one.run_id},
            {"file", one.file},
            {"started", one.started},
            {"mode", name_of(one.mode)},
            {"profile", one.profile},
            {"calibration", or_null(one.calibration)},
            {"judged_by", or_null(one.judged_by)},
            {"complete", one.complete},
            {"seals_intact", one.seals_intact},
            {"outcome", name_of(one.outcome)}};
}

Json json_of(const book::SeedLot& one) {
    return {{"lot", one.lot},
            {"crop", one.crop},
            {"thousand_seed_mass_mg", or_null(one.thousand_seed_mass_mg)},
            {"runs", one.runs}};
}

Json json_of(const calibration::Record& one) {
    return {{"id", one.id},
            {"date", one.date},
            {"expires", one.expires},
            {"unit", or_null(one.holds_for.unit)},
            {"bench", or_null(one.holds_for.bench)},
            {"crop", or_null(one.holds_for.crop)},
            {"gate", one.holds_for.gate}};
}

Json json_of(const book::TextEntry& one) {
    return {{"name", one.id}, {"file", one.file}, {"sha256", one.sha256}};
}

Json json_of(const book::Batch& one) {
    return {{"batch", one.id}, {"file", one.file},       {"opened", one.opened},
            {"size", one.lot}, {"profile", one.profile}, {"decision", decision_word(one)}};
}

template <class Entry> Json list_of(const std::vector<Entry>& entries) {
    Json list = Json::array();
    for (const Entry& one : entries)
        list.push_back(json_of(one));
    return list;
}

Json json_of_all(const Contents& all) {
    Json units = Json::array();
    for (const book::Unit& one : all.units)
        units.push_back(json_of(one, all.due_for(one)));
    return {{"schema", "dropledger/book-list/1"},
            {"units", units},
            {"runs", list_of(all.runs)},
            {"seed_lots", list_of(all.seed_lots)},
            {"calibrations", list_of(all.calibrations)},
            {"profiles", list_of(all.profiles)},
            {"batches", list_of(all.batches)}};
}

std::string any(const std::string& text) {
    return text.empty() ? "any" : text;
}

std::string holds_for(const calibration::HoldsFor& holds) {
    return fmt::format("unit {}, gate {}, bench {}, crop {}", any(holds.unit), holds.gate,
                       any(holds.bench), any(holds.crop));
}

// An earlier version may have judged otherwise.
void add_judged_by_others(TextPage& page, const std::vector<book::Run>& runs) {
    const auto others = static_cast<std::uint64_t>(std::count_if(
        runs.begin(), runs.end(), [](const book::Run& one) { return one.judged_by != version(); }));
    if (others > 0)
        page.add("  {} judged by another version of this program; `dropledger book rebuild FOLDER` "
                 "judges all anew\n",
                 counted(others, "run"));
}

void add_runs(TextPage& page, const std::vector<book::Run>& runs) {
    page.add("\nRuns\n");
    for (const book::Run& one : runs) {
        const char* const note = !one.seals_intact ? ", seals broken"
                                 : one.complete    ? ""
                                                   : ", incomplete";
        page.add("  {:<27}  {:<10} {:<8} {}{}\n", local_words(one.started), name_of(one.outcome),
                 name_of(one.mode), one.file, note);
    }
    add_judged_by_others(page, runs);
}

std::string text_of(const Contents& all) {
    TextPage page;
    page.add("Units\n");
    for (const book::Unit& one : all.units) {
        page.add("  {:<14} {:<10} {}, last {}\n", one.unit, name_of(one.last_outcome),
                 counted(static_cast<std::uint64_t>(one.runs), "run"), local_words(one.last));
        for (const std::string& due : all.due_for(one))
            page.add("  {:<14} due: {}\n", "", due);
    }
    add_runs(page, all.runs);
    if (!all.seed_lots.empty())
        page.add("\nSeed lots\n");
    for (const book::SeedLot& one : all.seed_lots)
        page.add("  {:<14} {:<14} {:>4} runs{}\n", one.lot, one.crop, one.runs,
                 one.thousand_seed_mass_mg
                     ? fmt::format(", 1000 seeds {} mg", *one.thousand_seed_mass_mg)
                     : "");
    if (!all.calibrations.empty())
        page.add("\nCalibrations\n");
    for (const calibration::Record& one : all.calibrations)
        page.add("  {:<20} {} to {}  {}\n", one.id, one.date, one.expires,
                 holds_for(one.holds_for));
    if (!all.profiles.empty())
        page.add("\nProfiles of this book\n");
    for (const book::TextEntry& one : all.profiles)
        page.add("  {:<20} {}\n", one.id, one.file);
    if (!all.batches.empty())
        page.add("\nBatches\n");
    for (const book::Batch& one : all.batches)
        page.add("  {:<20} {}  {:>5} units  {}\n", one.id, one.opened, one.lot, decision_word(one));
    return page.text();
}

} // namespace

Result<std::vector<UnitLine>> unit_lines(const BookOptions& options) {
    const auto all = contents_of(options);
    if (!all)
        return all.error();
    std::vector<UnitLine> lines;
    for (const book::Unit& unit : all->units)
        lines.push_back({unit, all->due_for(unit)});
    return lines;
}

void add_book_list(Command& book) {
    const auto options = std::make_shared<BookOptions>();
    Command command = book.subcommand("list", "what the book holds");
    command.option("--book", options->book, "the book").manual("book_list");
    answers(
        command, options,
        Answer<BookOptions, Contents>{.find = contents_of, .json = json_of_all, .text = text_of});
}

} // namespace dropledger::cli

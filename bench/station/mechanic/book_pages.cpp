#include "bench/station/mechanic/book_pages.hpp"

#include "analysis/base/readers/nesting.hpp"
#include "analysis/measures/number_words.hpp"
#include "analysis/report/html/tables.hpp"
#include "analysis/report/pictures/markup.hpp"
#include "bench/book/indexer.hpp"
#include "bench/commands/inputs/books.hpp"
#include "bench/commands/inputs/profiles.hpp"
#include "bench/commands/run/job/run_logs.hpp"
#include "bench/io/file_source.hpp"
#include "bench/station/pages/fields.hpp"
#include "bench/station/pages/files.hpp"
#include "bench/station/pages/page.hpp"

#include <fmt/format.h>

#include <filesystem>
#include <set>

namespace dropledger::station {

using report::pictures::element;

namespace {

namespace fs = std::filesystem;

bool is_record(const std::string& file) {
    const auto text = files::whole_file(file, most_toml_bytes);
    return text && text->find("dropledger/calibration/") != std::string::npos;
}

std::string whole(const std::string& file) {
    return fs::absolute(file).lexically_normal().string();
}

// Files that it names, whole paths.
std::set<std::string> known_to(const Place& place) {
    std::set<std::string> known;
    if (!place.has_book())
        return known;
    const auto book = cli::open_book(place.book, false);
    if (!book)
        return known;
    if (const auto runs = book->runs())
        for (const book::Run& run : *runs)
            known.insert(whole(book::path_in(*book, run.file)));
    if (const auto records = book->calibrations())
        for (const book::TextEntry& record : *records)
            known.insert(whole(book::path_in(*book, record.file)));
    return known;
}

Response ended(const std::vector<std::string>& left_out, std::size_t entered,
               const std::string& bar) {
    std::string body = heading1(fmt::format("{} entered", counted(entered, "file")));
    if (!left_out.empty())
        body += text_line("These could not be:") + report::html::bullet_list(left_out);
    body += element("div", "class=\"acts\"", button_link("/units", "To the units"));
    return {.body = page({.title = "Entered", .here = "/units", .body = body, .bar = bar})};
}

Response entered(const Place& place, const std::shared_ptr<Progress>& progress,
                 const std::string& bar) {
    auto book = cli::open_book(place.book, true);
    if (!book)
        return {.body = page({.title = "Units",
                              .here = "/units",
                              .body = heading1("Units") + said_wrong(book.error()),
                              .bar = bar})};
    std::vector<std::string> left_out;
    std::size_t count = 0;
    for (const std::string& name : not_in_the_book(place)) {
        if (progress->cancelled())
            break;
        const auto added =
            book::add(*book, {place.folder + "/" + name}, cli::profile_chooser(std::nullopt));
        if (!added)
            left_out.push_back(added.error().message());
        else if (!added->left_out.empty())
            left_out.insert(left_out.end(), added->left_out.begin(), added->left_out.end());
        else
            ++count;
    }
    return ended(left_out, count, bar);
}

// With what SQLite keeps beside it, which would be taken for the new one's.
Status move_aside(const std::string& book) {
    std::string aside = book + ".spoilt";
    for (int number = 2; fs::exists(aside); ++number)
        aside = fmt::format("{}.spoilt-{}", book, number);
    std::error_code failed;
    for (const char* const with : {"-journal", "-wal", "-shm", ""})
        if (!failed && fs::exists(book + with))
            fs::rename(book + with, aside + with, failed);
    return failed ? Status{device_error(book, failed.message(), "move it aside by hand")} : Done{};
}

Response made_anew(const Place& place, const std::string& bar) {
    const auto failed = [&](const Error& error) {
        return Response{.body = page({.title = "Units",
                                      .here = "/units",
                                      .body = heading1("Units") + said_wrong(error),
                                      .bar = bar})};
    };
    if (const Status moved = move_aside(place.book); !moved)
        return failed(moved.error());
    auto book = cli::open_book(place.book, true);
    if (!book)
        return failed(book.error());
    const auto added = book::rebuild(*book, place.folder, cli::profile_chooser(std::nullopt));
    return added ? ended(added->left_out, added->runs + added->calibrations, bar)
                 : failed(added.error());
}

} // namespace

std::optional<std::string> name_here(const Place& place, const book::Book& book,
                                     const book::Run& run) {
    const std::string file = whole(book::path_in(book, run.file));
    const std::string name = fs::path(file).filename().string();
    const bool here = file == whole(place.folder + "/" + name);
    return here && file_in(place.folder, name, ".droplog") ? std::optional{name} : std::nullopt;
}

std::vector<std::string> not_in_the_book(const Place& place) {
    const std::set<std::string> known = known_to(place);
    std::vector<std::string> names;
    const auto add = [&](const NamedFile& file) {
        if (!known.contains(whole(place.folder + "/" + file.name)))
            names.push_back(file.name);
    };
    for (const NamedFile& file : files_in(place.folder, ".toml"))
        if (is_record(place.folder + "/" + file.name))
            add(file);
    for (const NamedFile& file : files_in(place.folder, ".droplog"))
        if (cli::is_closed(place.folder + "/" + file.name))
            add(file);
    return names;
}

std::string offer_to_enter(const Place& place) {
    const auto names = not_in_the_book(place);
    if (names.empty())
        return {};
    return element(
        "div", "class=\"word noprint\"",
        text_line(fmt::format("{} of this folder {} not in the book yet.",
                              counted(names.size(), "file"), names.size() == 1 ? "is" : "are")) +
            element("div", "class=\"acts\"", act("/units", "Enter what is there")));
}

Response make_book_anew(const Place& place, Jobs& jobs, const std::string& bar) {
    if (cli::open_book(place.book, false))
        return see("/units");
    return jobs.run(
        "Making the book anew", "/units",
        [place, bar](const std::shared_ptr<Progress>&) { return made_anew(place, bar); });
}

Response enter_folder(const Place& place, Jobs& jobs, const std::string& bar) {
    return jobs.run("Entering the folder in the book", "/units",
                    [place, bar](const std::shared_ptr<Progress>& progress) {
                        return entered(place, progress, bar);
                    });
}

} // namespace dropledger::station

#include "bench/commands/batch/opening/batch_history.hpp"

#include "analysis/base/results.hpp"
#include "bench/book/book.hpp"
#include "bench/commands/batch/files/batch_files.hpp"
#include "bench/commands/inputs/books.hpp"
#include "bench/commands/shell/usage.hpp"

#include <fmt/format.h>

#include <algorithm>

namespace dropledger::cli {

namespace {

using Batches = std::vector<batch::Batch>;

Result<Batches> loaded(const std::vector<std::string>& files) {
    return each(files, load_batch);
}

// The book's batches of the same profile, in the order in which they were opened.
Result<std::vector<std::string>> files_of_book(const std::string& file,
                                               const std::string& profile) {
    const auto book = open_book(file, false);
    if (!book)
        return book.error();
    const auto batches = book->batches();
    if (!batches)
        return batches.error();
    std::vector<std::string> files;
    for (const book::Batch& one : *batches)
        if (one.profile == profile)
            files.push_back(book::path_in(*book, one.file));
    return files;
}

bool has(const Batches& batches, const batch::Batch& wanted) {
    return std::any_of(batches.begin(), batches.end(), [&](const batch::Batch& one) {
        return one.journal.opening() == wanted.journal.opening();
    });
}

Status check_whole(const Batches& named, const Batches& known, const std::string& book) {
    for (const batch::Batch& one : known)
        if (!has(named, one))
            return usage("--history",
                         fmt::format("batch {} is left out, which {} knows", one.id, book),
                         "name every earlier batch of this profile, in their order, or give the "
                         "book alone");
    for (const batch::Batch& one : named)
        if (!has(known, one))
            return usage("--history", fmt::format("{} does not know batch {}", book, one.id),
                         "enter it first: dropledger book add");
    for (std::size_t i = 0; i < std::min(named.size(), known.size()); ++i)
        if (named[i].journal.opening() != known[i].journal.opening())
            return usage("--history",
                         named.size() > known.size()
                             ? fmt::format("batch {} is named twice", named[i].id)
                             : fmt::format("batch {} comes before {}", named[i].id, known[i].id),
                         "name each batch once, in the order of their opening");
    if (named.size() > known.size())
        return usage("--history", fmt::format("batch {} is named twice", named.back().id),
                     "name each batch once");
    return Done{};
}

Result<Batches> earlier_batches(const HistoryOptions& options, const std::string& profile) {
    if (!options.book)
        return loaded(options.files);
    const auto files = files_of_book(*options.book, profile);
    if (!files)
        return files.error();
    auto known = loaded(*files);
    if (!known || options.files.empty())
        return known;
    auto named = loaded(options.files);
    if (!named)
        return named;
    if (const Status whole = check_whole(*named, *known, *options.book); !whole)
        return whole.error();
    return named;
}

Result<History> without_history(const HistoryOptions& options) {
    const auto asked = batch::parse_severity(options.severity.value_or("normal"));
    if (!asked)
        return asked.error();
    return History{{*asked, false,
                    options.severity ? "as asked"
                    : options.book   ? "the book has no earlier batch of this profile"
                                     : "no earlier batches were named"},
                   {}};
}

} // namespace

Result<History> severity_of(const HistoryOptions& options, const std::string& profile) {
    const auto earlier = earlier_batches(options, profile);
    if (!earlier)
        return earlier.error();
    if (earlier->empty())
        return without_history(options);
    auto choice = batch::severity_after(*earlier, options.reduced_permitted);
    if (!choice)
        return choice.error();
    if (choice->stopped)
        return usage(
            options.book ? "--book" : "--history",
            "sampling is discontinued: five batches were not accepted under tightened inspection",
            "resume when the producer has put the cause right");
    History history{*std::move(choice), {}};
    for (const batch::Batch& one : *earlier)
        history.batches.push_back({one.id, one.journal.head()});
    return history;
}

} // namespace dropledger::cli

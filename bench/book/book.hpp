// The bench book: an SQLite file that indexes logs, calibration records, tolerance profiles and
// batch files.
//
// Everything in it comes from those files and can be had again from them (`book rebuild`): no row
// holds when it was entered, or by what command. Units and seed lots are views over the runs.
// Assumes: several programs may have it open; a change is one transaction (write-ahead log), so a
// kill leaves the book as it was before or as it is after.
// Errors: what SQLite says, with the book's name and what to do.
#pragma once

#include "analysis/base/result.hpp"
#include "bench/book/entries.hpp"

#include <functional>
#include <memory>
#include <optional>
#include <string>
#include <vector>

namespace SQLite {
class Database;
}

namespace dropledger::book {

class Book {
public:
    // `create`: an absent file is made; else it must be there. A book of an earlier version is brought
    // up to date, and a copy kept (migration.hpp).
    [[nodiscard]] static Result<Book> open(const std::string& file, bool create);
    ~Book();
    Book(Book&&) noexcept;
    Book& operator=(Book&&) noexcept;

    // Everything inside, or nothing where it fails.
    [[nodiscard]] Status change(const std::function<Status(Book&)>& steps);

    // Each replaces what stands under the same id; only inside change().
    void clear();
    void enter(const Run& run);
    void remove_run(const std::string& run_id);
    void enter_calibration(const TextEntry& record);
    void enter_profile(const TextEntry& profile);
    void enter(const Batch& batch);

    [[nodiscard]] Result<std::vector<Run>> runs() const; // by start
    [[nodiscard]] Result<std::vector<Run>>
    runs_of(const std::string& unit) const; // its channels only
    [[nodiscard]] Result<std::vector<Unit>> units() const;
    [[nodiscard]] Result<std::vector<SeedLot>> seed_lots() const;
    [[nodiscard]] Result<std::vector<TextEntry>> calibrations() const;
    [[nodiscard]] Result<std::vector<TextEntry>> profiles() const;
    [[nodiscard]] Result<std::vector<Batch>> batches() const;

    [[nodiscard]] const std::string& file() const { return file_; }
    // Of the book as it was, where this opening has brought it up to date.
    [[nodiscard]] const std::optional<std::string>& kept_copy() const { return kept_copy_; }

private:
    Book(std::string file, std::unique_ptr<SQLite::Database> database,
         std::optional<std::string> kept_copy);

    std::string file_;
    std::unique_ptr<SQLite::Database> database_;
    std::optional<std::string> kept_copy_;
};

// Where a file that the book names lies.
[[nodiscard]] std::string path_in(const Book& book, const std::string& name);

} // namespace dropledger::book

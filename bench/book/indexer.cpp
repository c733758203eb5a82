#include "bench/book/indexer.hpp"

#include "analysis/audit/audit.hpp"
#include "analysis/batch/chain/batch_file.hpp"
#include "analysis/droplog/settings.hpp"
#include "bench/book/judging.hpp"
#include "bench/book/notes.hpp"
#include "bench/book/run_entry.hpp"
#include "bench/io/file_hash.hpp"
#include "bench/io/file_head.hpp"
#include "bench/io/file_source.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <filesystem>
#include <map>

namespace dropledger::book {

namespace fs = std::filesystem;

namespace {

enum class Kind { log, tried_settings, calibration, profile, batch, other };

Kind kind_of(std::string_view head) {
    static const std::string of_a_try =
        fmt::format("\n@set,{},{}*", droplog::purpose_key, droplog::purpose_try);
    if (head.starts_with("@droplog,"))
        return head.find(of_a_try) == std::string_view::npos ? Kind::log : Kind::tried_settings;
    if (head.find("\"dropledger/calibration/") != std::string_view::npos ||
        head.find("'dropledger/calibration/") != std::string_view::npos)
        return Kind::calibration;
    if (head.find("\"dropledger/batch-file/") != std::string_view::npos)
        return Kind::batch;
    return head.find("\n[limits]") != std::string_view::npos ? Kind::profile : Kind::other;
}

// Enough to know what a file is, and the whole of every record and profile.
constexpr std::size_t head_size = std::size_t{1} << 16U;

// As the book names the file: from its folder where it lies below it, so that the folder can be
// moved.
std::string name_in(const Book& book, const std::string& file) {
    const fs::path folder = fs::absolute(book.file()).lexically_normal().parent_path();
    const fs::path whole = fs::absolute(file).lexically_normal();
    const fs::path below = whole.lexically_relative(folder);
    return below.empty() || *below.begin() == ".." ? whole.string() : below.string();
}

class Indexing {
public:
    Indexing(Book& book, const ProfileElse& otherwise) : book_(&book), otherwise_(&otherwise) {}

    // Logs wait until every record and profile is in.
    Status take(const std::string& file, bool others_too) {
        const auto head = files::head_of(file, head_size);
        if (!head)
            return head.error();
        switch (kind_of(*head)) {
        case Kind::log:
            logs_.push_back(file);
            return Done{};
        case Kind::tried_settings:
            if (!others_too)
                return input_error(file,
                                   "a few drops that tried a machine's settings: no run that "
                                   "units are judged by",
                                   "leave it out");
            ++added.tries;
            return Done{};
        case Kind::calibration:
            return enter_calibration(file, *head);
        case Kind::profile:
            return enter_profile(file, *head);
        case Kind::batch:
            return enter_batch(file);
        case Kind::other:
            break;
        }
        if (others_too)
            return Done{};
        return input_error(file, "no droplog, calibration record, tolerance profile or batch file",
                           "leave it out, or see whether it is the right file");
    }

    // `strict`: fails at the first that cannot be entered; else it is left out and said.
    Status enter_logs(bool strict) {
        const auto options = audit_options(*book_, *otherwise_);
        if (!options)
            return options.error();
        const auto known = known_runs();
        if (!known)
            return known.error();
        std::map<std::string, Run> before = *known;
        for (const std::string& file : logs_)
            if (Status done = enter_log(file, *options, before); !done) {
                if (strict)
                    return done;
                added.left_out.push_back(done.error().message());
            }
        return texts_changed_ ? judge_again(*options, *known) : Status{Done{}};
    }

    Added added;

private:
    Result<std::map<std::string, Run>> known_runs() const {
        auto runs = book_->runs();
        if (!runs)
            return runs.error();
        std::map<std::string, Run> by_id;
        for (Run& run : *runs)
            by_id.emplace(run.run_id, std::move(run));
        return by_id;
    }

    Result<Run> run_of(const std::string& file, const audit::AuditOptions& options) const {
        audit::AuditOptions how = options;
        how.file = file;
        const auto audit = audit::audit_log(files::open_file(file), how);
        if (!audit)
            return audit.error();
        if (audit->run_id.empty())
            return input_error(file, "the log has no head: nothing says which run it is",
                               "audit it by itself; it cannot be entered");
        auto hash = files::hash_of(file);
        if (!hash)
            return hash.error();
        Run run = run_entry(*audit);
        run.file = name_in(*book_, file);
        run.sha256 = *std::move(hash);
        return run;
    }

    // What somebody took out stays out.
    [[nodiscard]] Status is_not_removed(const Run& run, const std::string& file) const {
        const auto notes = notes_beside(book_->file());
        if (!notes)
            return notes.error();
        for (const Note& note : *notes)
            if (note.kind == NoteKind::removed && note.about == run.run_id)
                return input_error(file,
                                   fmt::format("this run was taken out of the book on {} ({})",
                                               note.time.substr(0, 10), note.text),
                                   fmt::format("to enter it again take its line out of {}",
                                               notes_file(book_->file())));
        return Done{};
    }

    Status enter_log(const std::string& file, const audit::AuditOptions& options,
                     std::map<std::string, Run>& known) {
        auto run = run_of(file, options);
        if (!run)
            return run.error();
        if (const Status wanted = is_not_removed(*run, file); !wanted)
            return wanted;
        const auto twin = known.find(run->run_id);
        if (twin != known.end() && twin->second.file != run->file) {
            if (twin->second.sha256 != run->sha256)
                return input_error(
                    file,
                    fmt::format("run {} is in the book already, from {}, with other content",
                                run->run_id, twin->second.file),
                    "keep the one that is whole (dropledger check) and rebuild the book");
            run->file = std::min(run->file, twin->second.file); // a copy
        }
        book_->enter(*run);
        entered_.push_back(run->run_id);
        known[entered_.back()] = *std::move(run);
        ++added.runs;
        return Done{};
    }

    Status enter_calibration(const std::string& file, const std::string& text) {
        const auto record = calibration::parse_record(text, file);
        if (!record)
            return record.error();
        const auto entry = text_entry(record->id, file, text, book_->calibrations());
        if (!entry)
            return entry.error();
        book_->enter_calibration(*entry);
        ++added.calibrations;
        return Done{};
    }

    Status enter_profile(const std::string& file, const std::string& text) {
        const auto profile = verdict::parse_profile(text, file);
        if (!profile)
            return profile.error();
        const auto entry = text_entry(profile->name, file, text, book_->profiles());
        if (!entry)
            return entry.error();
        book_->enter_profile(*entry);
        ++added.profiles;
        return Done{};
    }

    Status enter_batch(const std::string& file) {
        constexpr std::size_t longest = std::size_t{64} << 20U;
        const auto text = files::whole_file(file, longest);
        if (!text)
            return text.error();
        const auto found = batch::parse_batch(*text, file);
        if (!found)
            return found.error();
        const auto known = book_->batches();
        if (!known)
            return known.error();
        const std::string name = name_in(*book_, file);
        for (const Batch& twin : *known)
            if (twin.id == found->id && twin.file != name)
                return input_error(
                    file,
                    fmt::format("batch '{}' is in the book already, from {}", twin.id, twin.file),
                    "a name stands for one batch: give one of them another");
        const auto hash = files::hash_of(file);
        if (!hash)
            return hash.error();
        book_->enter(
            Batch{found->id, name, *hash, found->opened, found->size(), found->profile.name,
                  found->decision ? std::optional{found->decision->outcome} : std::nullopt});
        ++added.batches;
        return Done{};
    }

    // Refused where another file of other content has that name.
    Result<TextEntry> text_entry(const std::string& id, const std::string& file,
                                 const std::string& text,
                                 const Result<std::vector<TextEntry>>& known) {
        if (!known)
            return known.error();
        auto hash = files::hash_of(file);
        if (!hash)
            return hash.error();
        TextEntry entry{id, name_in(*book_, file), *std::move(hash), text};
        for (const TextEntry& twin : *known) {
            if (twin.id != id || twin.file == entry.file)
                continue;
            if (twin.sha256 != entry.sha256)
                return input_error(
                    file,
                    fmt::format("'{}' is in the book already, from {}, with other content", id,
                                twin.file),
                    "a name stands for one record or profile: give one of them another");
            entry.file = std::min(entry.file, twin.file); // a copy
        }
        texts_changed_ = true;
        return entry;
    }

    // Runs that were in the book before: another calibration or profile may speak for them now.
    Status judge_again(const audit::AuditOptions& options,
                       const std::map<std::string, Run>& before) {
        for (const auto& [id, old] : before) {
            if (std::find(entered_.begin(), entered_.end(), id) != entered_.end())
                continue;
            auto run = run_of(path_in(*book_, old.file), options);
            if (!run) {
                added.left_out.push_back(run.error().message() + " (its entry stands as it was)");
                continue;
            }
            book_->enter(*run);
            ++added.judged_again;
        }
        return Done{};
    }

    Book* book_;
    const ProfileElse* otherwise_;
    std::vector<std::string> logs_;
    std::vector<std::string> entered_;
    bool texts_changed_ = false;
};

// What was dropped on the station's pages is of other benches, or of a machine in the field.
bool is_of_others(const fs::directory_entry& entry) {
    const std::string name = entry.path().filename().string();
    return entry.is_directory() && (name == "dropped-packs" || name == "field-logs");
}

Result<std::vector<std::string>> files_below(const std::string& folder) {
    std::vector<std::string> all;
    std::error_code failed;
    for (fs::recursive_directory_iterator at(folder, failed), end; !failed && at != end;
         at.increment(failed))
        if (is_of_others(*at)) {
            at.disable_recursion_pending();
        } else if (at->is_regular_file(failed)) {
            const std::string ending = at->path().extension().string();
            if (ending == ".droplog" || ending == ".toml" ||
                at->path().string().ends_with(".batch.json"))
                all.push_back(at->path().string());
        }
    if (failed)
        return device_error(folder, failed.message(), "name the folder that holds the logs");
    std::sort(all.begin(), all.end());
    return all;
}

} // namespace

Result<Added> add(Book& book, const std::vector<std::string>& files, const ProfileElse& otherwise) {
    Indexing indexing(book, otherwise);
    Status done = book.change([&](Book&) -> Status {
        for (const std::string& file : files)
            if (Status taken = indexing.take(file, false); !taken)
                return taken;
        return indexing.enter_logs(true);
    });
    return std::move(done).transform([&](Done) { return std::move(indexing.added); });
}

Result<Added> rebuild(Book& book, const std::string& folder, const ProfileElse& otherwise) {
    const auto files = files_below(folder);
    if (!files)
        return files.error();
    Indexing indexing(book, otherwise);
    Status done = book.change([&](Book& emptied) -> Status {
        emptied.clear();
        for (const std::string& file : *files)
            if (const Status taken = indexing.take(file, true); !taken)
                indexing.added.left_out.push_back(taken.error().message());
        return indexing.enter_logs(false);
    });
    return std::move(done).transform([&](Done) { return std::move(indexing.added); });
}

} // namespace dropledger::book

#include "bench/commands/batch/files/batch_files.hpp"

#include "analysis/base/dates.hpp"
#include "analysis/base/readers/csv_table.hpp"
#include "analysis/base/shown_text.hpp"
#include "analysis/base/text.hpp"
#include "analysis/batch/chain/batch_file.hpp"
#include "analysis/droplog/public_key.hpp"
#include "bench/commands/shell/dates.hpp"
#include "bench/commands/shell/usage.hpp"
#include "bench/io/file_lock.hpp"
#include "bench/io/file_source.hpp"
#include "bench/io/key_file.hpp"
#include "bench/io/write_aside.hpp"

#include <fmt/format.h>
#include <nlohmann/json.hpp>

#include <algorithm>
#include <filesystem>

namespace dropledger::cli {

namespace fs = std::filesystem;

namespace {

constexpr std::int64_t most_units = 1'000'000;

} // namespace

Result<batch::Batch> load_batch(const std::string& file) {
    return files::whole_file(file, most_batch_bytes).and_then([&](const std::string& text) {
        return batch::parse_batch(text, file);
    });
}

Result<batch::Batch> changed_batch(const std::string& file,
                                   const std::function<Status(batch::Batch&)>& change) {
    const auto lock = files::FileLock::hold(file);
    if (!lock)
        return lock.error();
    auto batch = load_batch(file);
    if (!batch)
        return batch.error();
    const std::string before = batch::to_text(*batch);
    if (const Status changed = change(*batch); !changed)
        return changed.error();
    const std::string after = batch::to_text(*batch);
    if (after != before)
        if (const Status saved = files::write_file_aside(file, after); !saved)
            return saved.error();
    return batch;
}

Status save_new_batch(const std::string& file, const batch::Batch& batch) {
    return files::write_new_file(file, batch::to_text(batch));
}

Result<evidence::Folder> folder_on_disk(const std::string& path) {
    std::error_code problem;
    if (!fs::is_directory(path, problem))
        return input_error(path, "it is not a folder",
                           "name the folder with logs, calibrations and profile");
    const fs::path folder = path;
    return evidence::Folder{
        [folder](const std::string& name) {
            std::error_code ignored;
            return fs::is_regular_file(folder / name, ignored);
        },
        [folder](const std::string& name) { return files::open_file((folder / name).string()); },
        [folder] {
            std::vector<std::string> names;
            std::error_code ignored;
            for (const auto& one : fs::directory_iterator(folder, ignored))
                names.push_back(one.path().filename().string());
            return names;
        }};
}

Result<evidence::Folder> folder_with_batch(const std::string& path, const std::string& batch_file) {
    auto folder = folder_on_disk(path);
    if (!folder)
        return folder;
    const std::string name = fs::path(batch_file).filename().string();
    return evidence::Folder{[name, holds = folder->holds](const std::string& asked) {
                                return asked == name || holds(asked);
                            },
                            [name, batch_file, open = folder->open](const std::string& asked) {
                                return asked == name ? files::open_file(batch_file) : open(asked);
                            },
                            folder->names};
}

Result<batch::Signer> signer_of(const Signing& signing, bool rehearsal) {
    if (signing.at && !rehearsal)
        return usage("--at", "only a rehearsal may state its times",
                     "leave it out: the clock says when, or open the batch with --rehearsal");
    if (signing.at && (!parse_rfc3339(*signing.at, 0) || !signing.at->ends_with('Z')))
        return usage("--at", fmt::format("'{}' is no time", *signing.at),
                     "write 2026-03-20T08:00:00Z");
    auto key = files::read_key_file(signing.key_file);
    if (!key)
        return key.error();
    return batch::Signer{*key, signing.at.value_or(now_utc())};
}

Result<evidence::TextEvidence> read_file(const std::string& file) {
    return evidence::read_text(files::open_file(file));
}

Result<std::vector<std::string>> serials_in(const std::string& file) {
    const auto text = files::whole_file(file, files::most_table_bytes);
    if (!text)
        return text.error();
    if (std::count(text->begin(), text->end(), '\n') > most_units + 1) // and a header
        return input_error(file, fmt::format("over {} units", most_units),
                           "make several batches of them");
    if (text->starts_with("\xEF\xBB\xBF"))
        return input_error(file, "it begins with a byte order mark, which no one sees",
                           "save it as UTF-8 without BOM");
    std::vector<std::string> serials;
    const std::string_view head = std::string_view{*text}.substr(0, text->find('\n'));
    if (head.find(',') != std::string_view::npos || trim(head) == "unit") {
        const auto table = CsvTable::read(*text, file, {.needed = {"unit"}, .optional = {}});
        if (!table)
            return table.error();
        for (const CsvRow& row : table->rows())
            serials.push_back(row.fields.at(0));
        return serials;
    }
    for (const std::string_view line : split(*text, '\n'))
        if (const std::string_view serial = trim(line); !serial.empty())
            serials.emplace_back(serial);
    return serials;
}

std::string failures_text(const std::vector<evidence::Failure>& failures) {
    TextPage page;
    for (const evidence::Failure& failure : failures)
        page.add("{}  {}: {}\n", failure.code, failure.where, failure.what);
    return page.text();
}

nlohmann::ordered_json failures_json(const std::vector<evidence::Failure>& failures) {
    auto all = nlohmann::ordered_json::array();
    for (const evidence::Failure& failure : failures)
        all.push_back({{"code", failure.code}, {"where", failure.where}, {"what", failure.what}});
    return all;
}

Result<std::string> public_key_text(const std::string& option, const std::string& text) {
    const auto key = droplog::from_hex<32>(text);
    if (!key)
        return usage(option, "this is no public key",
                     "give the 64 hex digits that `batch key` printed");
    if (!droplog::may_be_trusted(*key))
        return usage(option, "this is a key under which anyone can sign",
                     "give the 64 hex digits that `batch key` printed");
    return droplog::to_hex(*key);
}

} // namespace dropledger::cli

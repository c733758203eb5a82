#include "analysis/batch/chain/batch_file.hpp"

#include "analysis/base/readers/json_reader.hpp"
#include "analysis/base/text.hpp"
#include "analysis/batch/chain/entries.hpp"

#include <fmt/format.h>
#include <nlohmann/json.hpp>

namespace dropledger::batch {

namespace {

constexpr std::string_view head = "{\"schema\":\"dropledger/batch-file/2\",\"entries\":[\n";
constexpr std::string_view foot = "\n]}\n";
constexpr std::string_view first_version = "dropledger/batch-file/1";
constexpr std::string_view between = ",\n";
constexpr std::size_t most_bytes = std::size_t{64} << 20U;

Error not_ours(std::string_view text, const std::string& where) {
    if (text.substr(0, 200).find(first_version) != std::string_view::npos)
        return input_error(where,
                           "it is a batch file of the first version: its entries are not signed, "
                           "so nobody can say what was changed in it",
                           "finish that batch with the program that opened it, or open it anew");
    if (const auto json = read_json(text, where); !json)
        return input_error(where, json.error().what,
                           "take the file as `dropledger batch` wrote it");
    return input_error(where, "it is not a batch file of this version (dropledger/batch-file/2)",
                       "take the file as `dropledger batch` wrote it");
}

Result<Batch> replayed(std::string_view lines, std::string_view until) {
    Batch batch;
    while (true) {
        const std::size_t end = lines.find(between);
        const auto body = batch.journal.take(lines.substr(0, end));
        if (!body)
            return body.error();
        if (const Status done = take_entry(batch, *body); !done)
            return input_error(fmt::format("entry {}", batch.journal.entries().size()),
                               done.error().message(), done.error().remedy);
        if (end == std::string_view::npos || batch.journal.head() == until)
            return batch;
        lines.remove_prefix(end + between.size());
    }
}

} // namespace

std::string to_text(const Batch& batch) {
    std::string text{head};
    std::string_view before;
    for (const Entry& entry : batch.journal.entries()) {
        text += before;
        text += entry.line;
        before = between;
    }
    text += foot;
    return text;
}

Result<Batch> parse_batch(std::string_view text, const std::string& where, std::string_view until) {
    if (text.size() > most_bytes || !text.starts_with(head) || !text.ends_with(foot) ||
        text.size() < head.size() + foot.size())
        return not_ours(text, where);
    auto batch = replayed(text.substr(head.size(), text.size() - head.size() - foot.size()), until);
    if (!batch)
        return input_error(where, batch.error().where + ": " + batch.error().what,
                           "take the file as `dropledger batch` wrote it");
    return batch;
}

} // namespace dropledger::batch

#include "bench/commands/batch/batch_commands.hpp"
#include "bench/commands/batch/batch_files.hpp"
#include "bench/commands/batch/batch_state.hpp"
#include "bench/commands/shell/dates.hpp"

#include <fmt/format.h>

#include <memory>

namespace dropledger::cli {

namespace {

struct Options {
    std::string file;
    bool json = false;
};

Result<int> show(const Options& options) {
    auto batch = load_batch(options.file);
    if (!batch)
        return batch.error();
    return deliver_state(*std::move(batch), {.units = true, .json = options.json});
}

Status take_decision(batch::Batch& batch) {
    if (batch.decision)
        return Done{};
    const batch::Standing standing = batch::standing(batch.chosen, batch.runs);
    if (const auto outcome = batch::decision_of(batch.plan.numbers, standing))
        batch.decision = batch::BatchDecision{
            *outcome, static_cast<std::int64_t>(standing.nonconforming.size()), now_utc()};
    return Done{};
}

Result<int> decide(const Options& options) {
    auto batch = changed_batch(options.file, take_decision);
    if (!batch)
        return batch.error();
    const int status = decision_status(*batch);
    return deliver_state(*std::move(batch),
                         {.units = true, .json = options.json, .status = status});
}

} // namespace

void add_batch_decide(Command& batch) {
    const auto shown_options = std::make_shared<Options>();
    batch.subcommand("show", "how a batch stands")
        .option("FILE", shown_options->file, "batch file")
        .required("FILE")
        .flag("--json", shown_options->json, "print one JSON object and nothing else")
        .manual("batch_show")
        .runs([shown_options] { return show(*shown_options); });
    const auto options = std::make_shared<Options>();
    batch.subcommand("decide", "accept the batch or not, by its plan")
        .option("FILE", options->file, "batch file")
        .required("FILE")
        .flag("--json", options->json, "print one JSON object and nothing else")
        .manual("batch_decide")
        .runs([options] { return decide(*options); });
}

} // namespace dropledger::cli

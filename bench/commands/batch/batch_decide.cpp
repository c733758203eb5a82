#include "bench/commands/batch/batch_commands.hpp"
#include "bench/commands/batch/batch_files.hpp"
#include "bench/commands/batch/batch_state.hpp"
#include "bench/commands/shell/dates.hpp"
#include "bench/io/file_lock.hpp"

#include <fmt/format.h>

#include <memory>

namespace dropledger::cli {

namespace {

struct Options {
    std::string file;
    bool json = false;
};

Result<int> shown(batch::Batch batch, const Options& options) {
    const auto state = state_of(std::move(batch), {});
    if (!state)
        return state.error();
    return deliver_state(*state, true, options.json);
}

Result<int> show(const Options& options) {
    auto batch = load_batch(options.file);
    return batch ? shown(*std::move(batch), options) : batch.error();
}

Result<int> decide(const Options& options) {
    const auto lock = files::FileLock::hold(options.file);
    if (!lock)
        return lock.error();
    auto batch = load_batch(options.file);
    if (!batch)
        return batch.error();
    if (!batch->decision) {
        const batch::Standing standing = batch::standing(batch->chosen, batch->runs);
        if (const auto outcome = batch::decision_of(batch->plan.numbers, standing)) {
            batch->decision = batch::BatchDecision{
                *outcome, static_cast<std::int64_t>(standing.nonconforming.size()), now_utc()};
            if (const Status saved = save_batch(options.file, *batch); !saved)
                return saved.error();
        }
    }
    const int status = decision_status(*batch);
    const auto printed = shown(*std::move(batch), options);
    return printed ? Result<int>{status} : printed;
}

} // namespace

void add_batch_decide(Command& batch) {
    const auto shown_options = std::make_shared<Options>();
    batch.subcommand("show", "how a batch stands")
        .option("FILE", shown_options->file, "batch file")
        .required("FILE")
        .flag("--json", shown_options->json, "the result as JSON on standard output")
        .manual("batch_show")
        .runs([shown_options] { return show(*shown_options); });
    const auto options = std::make_shared<Options>();
    batch.subcommand("decide", "accept the batch or not, by its plan")
        .option("FILE", options->file, "batch file")
        .required("FILE")
        .flag("--json", options->json, "the result as JSON on standard output")
        .manual("batch_decide")
        .runs([options] { return decide(*options); });
}

} // namespace dropledger::cli

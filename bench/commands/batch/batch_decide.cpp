#include "bench/commands/batch/batch_commands.hpp"
#include "bench/commands/batch/files/batch_files.hpp"
#include "bench/commands/batch/files/batch_state.hpp"
#include "bench/commands/shell/usage.hpp"

#include <fmt/format.h>

#include <memory>

namespace dropledger::cli {

namespace {

struct Options {
    std::string file;
    bool json = false;
};

struct DecideOptions {
    std::string file;
    Signing signing;
    bool anyway = false;
    bool json = false;
};

Result<int> show(const Options& options) {
    auto batch = load_batch(options.file);
    if (!batch)
        return batch.error();
    auto notes = hindrances(*batch);
    return deliver_state(*std::move(batch),
                         {.notes = std::move(notes), .units = true, .json = options.json});
}

// A decision can't be taken back: it is not made where it would lead nowhere.
Status check_leads_somewhere(const batch::Batch& batch, bool anyway) {
    const auto notes = hindrances(batch);
    if (anyway || batch.decision || notes.empty())
        return Done{};
    return usage("--anyway", notes.front(),
                 "make the run void and test the unit again; `dropledger batch decide --anyway` "
                 "decides all the same, and no certificate can follow");
}

Result<int> decide(const DecideOptions& options) {
    auto batch = changed_batch(options.file, [&](batch::Batch& open) -> Status {
        const auto signer = signer_of(options.signing, open.rehearsal);
        if (!signer)
            return signer.error();
        if (const Status way = check_leads_somewhere(open, options.anyway); !way)
            return way;
        return batch::decide(open, *signer);
    });
    if (!batch)
        return batch.error();
    const int status = decision_status(*batch);
    auto notes = hindrances(*batch);
    return deliver_state(
        *std::move(batch),
        {.notes = std::move(notes), .units = true, .json = options.json, .status = status});
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
    const auto options = std::make_shared<DecideOptions>();
    batch.subcommand("decide", "accept the batch or not, by its plan")
        .option("FILE", options->file, "batch file")
        .required("FILE")
        .option("--key", options->signing.key_file, "key file that signs the entry")
        .required("--key")
        .option("--at", options->signing.at, "in a rehearsal: the time to be stated (RFC 3339)")
        .flag("--anyway", options->anyway, "decide though no certificate can follow")
        .flag("--json", options->json, "print one JSON object and nothing else")
        .manual("batch_decide")
        .runs([options] { return decide(*options); });
}

} // namespace dropledger::cli

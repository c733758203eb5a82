#include "bench/commands/batch/opening/batch_choose.hpp"

#include "analysis/base/text.hpp"
#include "bench/commands/batch/files/batch_files.hpp"
#include "bench/commands/batch/files/batch_state.hpp"
#include "bench/commands/batch/opening/opening.hpp"
#include "bench/io/file_source.hpp"

#include <memory>

namespace dropledger::cli {

namespace {

struct Options {
    std::string file;
    std::string buyer_text;
    Signing signing;
    bool json = false;
};

Result<int> choose(const Options& options) {
    constexpr std::size_t longest = 1000;
    const auto part = files::whole_file(options.file + part_ending, longest);
    if (!part)
        return part.error();
    auto batch = changed_batch(options.file, [&](batch::Batch& open) -> Status {
        const auto signer = signer_of(options.signing, open.rehearsal);
        if (!signer)
            return signer.error();
        return batch::choose_with(open, {std::string{trim(*part)}, options.buyer_text}, *signer);
    });
    if (!batch)
        return batch.error();
    return deliver_state(*std::move(batch), {.units = true, .json = options.json});
}

} // namespace

void add_batch_choose(Command& batch) {
    const auto options = std::make_shared<Options>();
    batch.subcommand("choose", "choose the units with the buyer's text")
        .option("FILE", options->file, "batch file, opened with --for-buyer")
        .required("FILE")
        .option("--buyer-seed", options->buyer_text, "the text that the buyer gave")
        .required("--buyer-seed")
        .option("--key", options->signing.key_file, "key file that signs the entry")
        .required("--key")
        .option("--at", options->signing.at, "in a rehearsal: the time to be stated (RFC 3339)")
        .flag("--json", options->json, "print one JSON object and nothing else")
        .manual("batch_choose")
        .runs([options] { return choose(*options); });
}

} // namespace dropledger::cli

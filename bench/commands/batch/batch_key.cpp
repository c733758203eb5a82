#include "bench/commands/batch/batch_commands.hpp"

#include "bench/commands/shell/deliver.hpp"
#include "bench/io/key_file.hpp"

#include <fmt/format.h>
#include <nlohmann/json.hpp>

#include <memory>

namespace dropledger::cli {

namespace {

struct Options {
    std::string file;
    bool show = false;
    bool json = false;
};

Result<droplog::PublicKey> key_of(const Options& options) {
    if (!options.show)
        return files::make_key_file(options.file);
    return files::read_key_file(options.file).transform(droplog::public_key_of);
}

Result<int> run(const Options& options) {
    const auto key = key_of(options);
    if (!key)
        return key.error();
    const std::string hex = droplog::to_hex(*key);
    return options.json ? deliver_json({{"schema", "dropledger/batch-key/1"},
                                        {"file", options.file},
                                        {"public_key", hex}})
                        : deliver_text(hex + "\n");
}

} // namespace

void add_batch_key(Command& batch) {
    const auto options = std::make_shared<Options>();
    batch.subcommand("key", "make a bench key that signs logs and certificates")
        .option("FILE", options->file, "key file to make")
        .required("FILE")
        .flag("--show", options->show, "print the public key of a file that is there")
        .flag("--json", options->json, "print one JSON object and nothing else")
        .manual("batch_key")
        .runs([options] { return run(*options); });
}

} // namespace dropledger::cli

#include "bench/commands/batch/batch_commands.hpp"

#include "bench/commands/shell/deliver.hpp"
#include "bench/io/key_file.hpp"

#include <fmt/format.h>
#include <nlohmann/json.hpp>

#include <memory>

namespace dropledger::cli {

namespace {

constexpr const char* manual = R"(DESCRIPTION
  Makes a bench key (Ed25519) in a new file that only its owner can read (mode 0600 from the first instant), or with
  --show prints the public part of one that is there. The private part is never printed. `dropledger run --key FILE`
  signs logs with it, `dropledger batch certificate --key FILE` certificates.

  Whoever has the file can sign in the bench's name: keep it on the bench, keep a copy locked away, and make the public
  key known where buyers can find it, so that they can say `batch verify --public-key`.

OUTPUT
  The public key, 64 hex digits. --json: schema dropledger/batch-key/1, file, public_key.

EXIT STATUS
  0 done, 64 the file is there already, 65 it is no key file, 74 it cannot be made, or others can read it.

EXAMPLES
  dropledger batch key bench-1.key
  dropledger batch key bench-1.key --show)";

struct Options {
    std::string file;
    bool show = false;
    bool json = false;
};

Result<droplog::PublicKey> key_of(const Options& options) {
    if (!options.show)
        return files::make_key_file(options.file);
    const auto key = files::read_key_file(options.file);
    if (!key)
        return key.error();
    return droplog::public_key_of(*key);
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
        .flag("--json", options->json, "the result as JSON on standard output")
        .manual(manual)
        .runs([options] { return run(*options); });
}

} // namespace dropledger::cli

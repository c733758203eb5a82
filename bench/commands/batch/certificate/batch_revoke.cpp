#include "bench/commands/batch/certificate/batch_pdf.hpp"
#include "bench/commands/batch/certificate/certificate.hpp"
#include "bench/commands/batch/files/batch_files.hpp"
#include "bench/commands/batch/files/batch_state.hpp"
#include "bench/commands/batch/files/causes.hpp"
#include "bench/commands/shell/usage.hpp"

#include "analysis/batch/certificate/certificate.hpp"
#include "analysis/droplog/seal.hpp"
#include "bench/io/file_source.hpp"
#include "bench/io/write_aside.hpp"

#include <fmt/format.h>

#include <memory>

namespace dropledger::cli {

namespace {

struct Options {
    std::string file;
    std::string certificate;
    std::string out;
    std::string cause;
    std::string reason;
    Signing signing;
    bool json = false;
};

Result<batch::RevokeRequest> request_of(const Options& options) {
    const auto cause = value_named(batch::revocation_cause_names, options.cause);
    if (!cause)
        return usage("--cause", fmt::format("'{}' is none", options.cause),
                     "one of: " + listed_keys(batch::revocation_cause_names));
    auto bytes = files::whole_file(options.certificate, most_batch_bytes);
    if (!bytes)
        return bytes.error();
    const auto file = certificate_file(*std::move(bytes), options.certificate);
    if (!file)
        return file.error();
    const auto certificate = batch::parse_certificate(file->json, options.certificate);
    if (!certificate)
        return certificate.error();
    return batch::RevokeRequest{certificate->id, droplog::to_hex(droplog::sha256(file->json)),
                                *cause, options.reason};
}

Result<int> run(const Options& options) {
    const auto request = request_of(options);
    if (!request)
        return request.error();
    auto batch = changed_batch(options.file, [&](batch::Batch& decided) -> Status {
        const auto signer = signer_of(options.signing, decided.rehearsal);
        if (!signer)
            return signer.error();
        if (const Status taken = batch::revoke(decided, *request, *signer); !taken)
            return taken;
        return files::write_new_file(options.out, decided.journal.entries().back().line + "\n");
    });
    if (!batch)
        return batch.error();
    return deliver_state(*std::move(batch), {.json = options.json});
}

} // namespace

void add_batch_revoke(Command& batch) {
    const auto options = std::make_shared<Options>();
    batch
        .subcommand("revoke",
                    "take a certificate back: an entry of the batch file, and a statement")
        .option("FILE", options->file, "batch file")
        .required("FILE")
        .option("CERT", options->certificate, "certificate (JSON or PDF) that is taken back")
        .required("CERT")
        .option("--cause", options->cause,
                "what was wrong: " + listed_keys(batch::revocation_cause_names))
        .required("--cause")
        .option("--reason", options->reason, "in words")
        .required("--reason")
        .option("--key", options->signing.key_file, "key file that signs the entry")
        .required("--key")
        .option("--at", options->signing.at, "in a rehearsal: the time to be stated (RFC 3339)")
        .option("--out", options->out,
                "statement for whoever has the certificate: NAME.revocation.json")
        .required("--out")
        .flag("--json", options->json, "print one JSON object and nothing else")
        .manual("batch_revoke")
        .runs([options] { return run(*options); });
}

} // namespace dropledger::cli

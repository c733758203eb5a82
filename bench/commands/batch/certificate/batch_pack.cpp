#include "analysis/batch/certificate/certificate.hpp"
#include "bench/commands/batch/certificate/batch_pdf.hpp"
#include "bench/commands/batch/certificate/certificate.hpp"
#include "bench/commands/batch/files/batch_files.hpp"
#include "bench/commands/shell/deliver.hpp"
#include "bench/commands/shell/usage.hpp"
#include "bench/io/file_source.hpp"
#include "bench/io/write_aside.hpp"

#include <fmt/format.h>
#include <nlohmann/json.hpp>

#include <filesystem>
#include <memory>
#include <set>

namespace dropledger::cli {

namespace fs = std::filesystem;

namespace {

struct Options {
    std::string file;
    std::string logs;
    std::string out;
    bool json = false;
};

// All files that the certificate names, plain names of the folder of evidence.
std::set<std::string> evidence_of(const batch::Certificate& certificate) {
    std::set<std::string> names{certificate.batch.journal.file};
    for (const batch::TestedRun& run : certificate.runs)
        names.insert(run.file);
    for (const batch::UsedCalibration& one : certificate.calibrations) {
        names.insert(one.file);
        names.insert(one.found.inputs.begin(), one.found.inputs.end());
    }
    return names;
}

std::string readme_of(const batch::Certificate& certificate, const std::string& file) {
    return fmt::format(
        "Certificate {0} and all that it rests on.\n\n"
        "Check it, offline, with the public keys that the issuer gave you by another way:\n\n"
        "    sha256sum -c SHA256SUMS\n"
        "    dropledger batch verify {1} --logs . --serials-file serials.txt --public-key HEX\n\n"
        "Add --opening HASH where you were told one when the batch was opened, and --buyer-seed "
        "TEXT\n"
        "where you gave a text for the choice of units. What was not checked is said at the end.\n"
        "{2} can be followed with openssl and sha256sum alone: see bench/evidence/README.md of\n"
        "the program's sources.\n",
        certificate.id, file, certificate.batch.journal.file);
}

// The folder for the buyer, file by file.
class Pack {
public:
    explicit Pack(fs::path out) : out_(std::move(out)) {}

    [[nodiscard]] Status copy(const fs::path& from) {
        const std::string name = from.filename().string();
        std::error_code problem;
        fs::copy_file(from, out_ / name, problem);
        if (problem)
            return device_error(from.string(), problem.message(),
                                "put all that the certificate names into one folder");
        return add_sum(name);
    }
    [[nodiscard]] Status write(const std::string& name, const std::string& text) {
        if (const Status written = files::write_new_file((out_ / name).string(), text); !written)
            return written;
        return add_sum(name);
    }
    [[nodiscard]] Status finish() {
        return files::write_new_file((out_ / "SHA256SUMS").string(), sums_);
    }
    [[nodiscard]] std::size_t files() const { return files_; }

private:
    [[nodiscard]] Status add_sum(const std::string& name) {
        const auto found = evidence::read_evidence(files::open_file((out_ / name).string()), name);
        if (!found)
            return found.error();
        sums_ += fmt::format("{}  {}\n", found->sha256, name);
        ++files_;
        return Done{};
    }

    fs::path out_;
    std::string sums_;
    std::size_t files_ = 0;
};

Result<batch::Certificate> certificate_in(const std::string& path) {
    auto bytes = files::whole_file(path, most_batch_bytes);
    if (!bytes)
        return bytes.error();
    const auto file = certificate_file(*std::move(bytes), path);
    if (!file)
        return file.error();
    return batch::parse_certificate(file->json, path);
}

Status fill(Pack& pack, const Options& options, const batch::Certificate& certificate) {
    if (const Status copied = pack.copy(options.file); !copied)
        return copied;
    for (const std::string& name : evidence_of(certificate)) {
        if (!evidence::is_plain_name(name))
            return input_error(options.file, fmt::format("'{}' is no name of a file", name), "");
        if (const Status copied = pack.copy(fs::path(options.logs) / name); !copied)
            return copied;
    }
    const auto batch =
        load_batch((fs::path(options.logs) / certificate.batch.journal.file).string());
    if (!batch)
        return batch.error();
    std::string serials;
    for (const std::string& serial : batch->serials)
        serials += serial + "\n";
    if (const Status written = pack.write("serials.txt", serials); !written)
        return written;
    if (const Status written = pack.write("profile.toml", certificate.profile.text); !written)
        return written;
    const std::string name = fs::path(options.file).filename().string();
    if (const Status written = pack.write("README.txt", readme_of(certificate, name)); !written)
        return written;
    return pack.finish();
}

Result<int> run(const Options& options) {
    const auto certificate = certificate_in(options.file);
    if (!certificate)
        return certificate.error();
    std::error_code problem;
    if (fs::exists(options.out, problem) || !fs::create_directory(options.out, problem))
        return usage("--out", fmt::format("{} is there already, or cannot be made", options.out),
                     "name a new folder");
    Pack pack(options.out);
    if (const Status filled = fill(pack, options, *certificate); !filled) {
        fs::remove_all(options.out, problem); // we made it
        return filled.error();
    }
    return options.json
               ? deliver_json({{"schema", "dropledger/batch-pack/1"},
                               {"folder", options.out},
                               {"certificate", certificate->id},
                               {"files", pack.files()}})
               : deliver_text(fmt::format("{}: certificate {} and its evidence, {} files\n",
                                          options.out, certificate->id, pack.files()));
}

} // namespace

void add_batch_pack(Command& batch) {
    const auto options = std::make_shared<Options>();
    batch.subcommand("pack", "one folder for the buyer: a certificate and all that it rests on")
        .option("CERT", options->file, "certificate, JSON or PDF")
        .required("CERT")
        .option("--logs", options->logs, "folder with batch file, logs and calibration records")
        .required("--logs")
        .option("--out", options->out, "folder to make")
        .required("--out")
        .flag("--json", options->json, "print one JSON object and nothing else")
        .manual("batch_pack")
        .runs([options] { return run(*options); });
}

} // namespace dropledger::cli

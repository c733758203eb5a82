#include "analysis/base/dates.hpp"
#include "bench/commands/batch/batch_commands.hpp"
#include "bench/commands/batch/batch_files.hpp"
#include "bench/commands/shell/dates.hpp"
#include "bench/commands/shell/usage.hpp"

#include "analysis/measures/number_words.hpp"
#include "analysis/report/pdf/pages.hpp"
#include "analysis/report/words/wording.hpp"
#include "bench/evidence/issue.hpp"
#include "bench/io/key_file.hpp"
#include "bench/io/write_aside.hpp"
#include "calibration/record/record.hpp"

#include <fmt/format.h>
#include <nlohmann/json.hpp>

#include <memory>

namespace dropledger::cli {

namespace {

using Json = nlohmann::ordered_json;

constexpr const char* manual = R"(DESCRIPTION
  Issues the certificate of a decided batch: one signed JSON file (canonical form, RFC 8785) that lists plan and risks,
  decision, every run with the hash and last seal of its log, calibrations and profile. Before it is written it is
  verified against the files in --logs; where anything fails nothing is written. Every run that counts must be complete,
  have an unbroken chain of seals, be signed by this key (or one named with --bench-key), and have a calibration of
  its gate that was valid on its day.

INPUT
  FILE.batch.json, decided; --logs the folder that holds all its logs and calibration records under their own names,
  and the profile as NAME.toml unless it comes with the program. Give buyers that folder and the certificate.

OUTPUT
  The certificate in --out (a file that is there is replaced), a line on standard output; with --pdf also as
  A4 pages for people that hold it (see `batch print`). --json: schema
  dropledger/batch-certificate/1, issued, certificate, valid_until, public_key, failures.

EXIT STATUS
  0 issued, 1 evidence fails (each failure is told), 64 not decided, not accepted or wrong usage, 65 a file cannot be read,
  74 file trouble, or a key that others can read.

EXAMPLES
  dropledger batch certificate spring.batch.json --key bench-1.key --logs spring --out spring.certificate.json)";

struct Options {
    std::string file;
    std::string key;
    std::string logs;
    std::string out;
    std::optional<std::string> pdf;
    std::optional<std::string> valid_until;
    std::vector<std::string> bench_keys;
    bool not_accepted = false;
    bool json = false;
};

Result<evidence::IssueRequest> request_of(const Options& options) {
    evidence::IssueRequest request;
    const auto key = files::read_key_file(options.key);
    if (!key)
        return key.error();
    request.key = *key;
    request.issued = now_utc();
    request.valid_until =
        options.valid_until.value_or(years_later(evidence::day_of(request.issued), 5));
    if (!is_date(request.valid_until))
        return usage("--valid-until", fmt::format("'{}' is no date", request.valid_until),
                     "YYYY-MM-DD");
    for (const std::string& text : options.bench_keys) {
        auto bench = public_key_text("--bench-key", text);
        if (!bench)
            return bench.error();
        request.bench_keys.push_back(*std::move(bench));
    }
    request.not_accepted_too = options.not_accepted;
    return request;
}

void print(const evidence::Issued& issued, const Options& options) {
    const bool good = issued.failures.empty();
    if (options.json) {
        Json failures = Json::array();
        for (const evidence::Failure& failure : issued.failures)
            failures.push_back(
                {{"code", failure.code}, {"where", failure.where}, {"what", failure.what}});
        const Json json{{"schema", "dropledger/batch-certificate/1"},
                        {"issued", good},
                        {"certificate", issued.certificate.id},
                        {"valid_until", issued.certificate.valid_until},
                        {"public_key", issued.certificate.public_key},
                        {"failures", std::move(failures)}};
        fmt::print("{}\n", json.dump(2, ' ', false, Json::error_handler_t::replace));
        return;
    }
    for (const evidence::Failure& failure : issued.failures)
        fmt::print("{}  {}: {}\n", failure.code, failure.where, failure.what);
    if (good)
        fmt::print("{}: certificate {}, valid until {}, signed by {}\n", options.out,
                   issued.certificate.id, issued.certificate.valid_until,
                   issued.certificate.public_key);
    else
        fmt::print("no certificate was issued: {}\n", counted(issued.failures.size(), "failure"));
}

Result<int> run(const Options& options) {
    const auto batch = load_batch(options.file);
    if (!batch)
        return batch.error();
    const auto folder = folder_on_disk(options.logs);
    if (!folder)
        return folder.error();
    const auto request = request_of(options);
    if (!request)
        return request.error();
    const auto issued = evidence::issue(*batch, *folder, *request);
    if (!issued)
        return issued.error();
    if (issued->failures.empty())
        if (const Status written = files::write_file_aside(options.out, issued->text); !written)
            return written.error();
    if (issued->failures.empty() && options.pdf)
        if (const Status written = files::write_file_aside(
                *options.pdf, report::certificate::to_pdf(issued->certificate, issued->text));
            !written)
            return written.error();
    print(*issued, options);
    return issued->failures.empty() ? 0 : 1;
}

} // namespace

void add_batch_certificate(Command& batch) {
    const auto options = std::make_shared<Options>();
    batch.subcommand("certificate", "issue the signed certificate of a decided batch")
        .option("FILE", options->file, "batch file")
        .required("FILE")
        .option("--key", options->key, "key file that signs")
        .required("--key")
        .option("--logs", options->logs, "folder with logs, calibration records and profile")
        .required("--logs")
        .option("--out", options->out, "certificate to write (JSON)")
        .required("--out")
        .option("--pdf", options->pdf, "also print it as pages for people, the signed JSON inside")
        .option("--valid-until", options->valid_until,
                "its last day, YYYY-MM-DD; five years from today where not said")
        .repeated("--bench-key", options->bench_keys,
                  "public key of a bench whose signed logs are taken too")
        .flag("--not-accepted", options->not_accepted,
              "sign the evidence of a batch that was not accepted")
        .flag("--json", options->json, "the result as JSON on standard output")
        .manual(manual)
        .runs([options] { return run(*options); });
}

} // namespace dropledger::cli

#include "analysis/base/dates.hpp"
#include "bench/commands/batch/certificate/certificate.hpp"
#include "bench/commands/batch/certificate/report_facts.hpp"
#include "bench/commands/batch/files/batch_files.hpp"
#include "bench/commands/shell/dates.hpp"
#include "bench/commands/shell/deliver.hpp"
#include "bench/commands/shell/usage.hpp"

#include "analysis/measures/number_words.hpp"
#include "analysis/report/pdf/pages.hpp"
#include "analysis/report/words/wording.hpp"
#include "bench/evidence/verify/issue.hpp"
#include "bench/io/key_file.hpp"
#include "calibration/record/record.hpp"

#include <fmt/format.h>
#include <nlohmann/json.hpp>

#include <filesystem>
#include <memory>

namespace dropledger::cli {

namespace {

using Json = nlohmann::ordered_json;
namespace fs = std::filesystem;

struct Options {
    std::string file;
    Signing signing;
    std::string logs;
    std::string out;
    std::optional<std::string> pdf;
    std::optional<std::string> valid_until;
    std::vector<std::string> bench_keys;
    std::optional<std::string> report;
    bool not_accepted = false;
    bool json = false;
};

Status take_keys(const Options& options, evidence::IssueRequest& request) {
    for (const std::string& text : options.bench_keys) {
        auto bench = public_key_text("--bench-key", text);
        if (!bench)
            return bench.error();
        request.bench_keys.push_back(*std::move(bench));
    }
    return Done{};
}

Result<evidence::IssueRequest> request_of(const Options& options, const batch::Batch& batch) {
    evidence::IssueRequest request;
    const auto signer = signer_of(options.signing, batch.rehearsal);
    if (!signer)
        return signer.error();
    request.key = signer->key;
    request.issued = signer->at;
    request.batch_file = fs::path(options.file).filename().string();
    request.valid_until =
        options.valid_until.value_or(years_later(evidence::day_of(request.issued), 5));
    if (!is_date(request.valid_until))
        return usage("--valid-until", fmt::format("'{}' is no date", request.valid_until),
                     "YYYY-MM-DD");
    if (const Status taken = take_keys(options, request); !taken)
        return taken.error();
    request.not_accepted_too = options.not_accepted;
    if (options.report) {
        auto facts = report_facts_in(*options.report);
        if (!facts)
            return facts.error();
        request.report = *std::move(facts);
    }
    if (report::certificate::can_draw())
        request.print = [](const batch::Certificate& certificate) {
            return report::certificate::pages(certificate);
        };
    return request;
}

Json json_of(const evidence::Issued& issued) {
    return {{"schema", "dropledger/batch-certificate/1"},
            {"issued", issued.failures.empty()},
            {"certificate", issued.certificate.id},
            {"valid_until", issued.certificate.valid_until},
            {"public_key", issued.certificate.public_key},
            {"failures", failures_json(issued.failures)}};
}

std::string text_of(const evidence::Issued& issued, const Options& options) {
    TextPage page;
    page.append(failures_text(issued.failures));
    if (issued.failures.empty())
        page.add("{}: certificate {}, valid until {}, signed by {}\n", options.out,
                 issued.certificate.id, issued.certificate.valid_until,
                 issued.certificate.public_key);
    else
        page.add("no certificate was issued: {}\n", counted(issued.failures.size(), "failure"));
    return page.text();
}

Result<int> run(const Options& options) {
    Outputs outputs;
    outputs.reads(options.file)
        .reads(options.signing.key_file)
        .writes("--out", options.out, files::FileKind::certificate)
        .writes("--pdf", options.pdf, files::FileKind::pdf);
    if (const Status allowed = outputs.check(); !allowed)
        return allowed.error();
    const auto batch = load_batch(options.file);
    if (!batch)
        return batch.error();
    const auto folder = folder_with_batch(options.logs, options.file);
    if (!folder)
        return folder.error();
    const auto request = request_of(options, *batch);
    if (!request)
        return request.error();
    if (const Status able = report::certificate::can_draw(); options.pdf && !able)
        return able.error();
    const auto issued = evidence::issue(*batch, *folder, *request);
    if (!issued)
        return issued.error();
    const bool good = issued->failures.empty();
    if (good)
        outputs.put("--out", issued->text);
    if (good && options.pdf)
        outputs.put("--pdf", report::certificate::with_signed(issued->pages, issued->certificate,
                                                              issued->text));
    if (options.json)
        outputs.json(json_of(*issued));
    else
        outputs.text(text_of(*issued, options));
    return outputs.deliver(good ? 0 : 1);
}

} // namespace

void add_batch_certificate(Command& batch) {
    const auto options = std::make_shared<Options>();
    batch.subcommand("certificate", "issue the signed certificate of a decided batch")
        .option("FILE", options->file, "batch file")
        .required("FILE")
        .option("--key", options->signing.key_file, "key file that signs")
        .required("--key")
        .option("--at", options->signing.at, "in a rehearsal: the time to be stated (RFC 3339)")
        .option("--logs", options->logs, "folder with logs, calibration records and profile")
        .required("--logs")
        .option("--out", options->out, "certificate to write (JSON)")
        .required("--out")
        .option("--pdf", options->pdf, "also print it as pages for people, the signed JSON inside")
        .option("--valid-until", options->valid_until,
                "its last day, YYYY-MM-DD; five years from today where not said")
        .repeated("--bench-key", options->bench_keys,
                  "public key of a bench whose signed logs are taken too")
        .option("--report", options->report,
                "TOML file of what the issuer states: number, issuer, place, client, product, "
                "authorised_by, [[deviation]] text")
        .flag("--not-accepted", options->not_accepted,
              "sign the evidence of a batch that was not accepted")
        .flag("--json", options->json, "print one JSON object and nothing else")
        .manual("batch_certificate")
        .runs([options] { return run(*options); });
}

} // namespace dropledger::cli

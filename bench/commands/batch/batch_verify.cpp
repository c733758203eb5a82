#include "analysis/base/dates.hpp"
#include "bench/commands/batch/batch_commands.hpp"
#include "bench/commands/batch/batch_files.hpp"
#include "bench/commands/batch/batch_pdf.hpp"
#include "bench/commands/shell/dates.hpp"
#include "bench/commands/shell/usage.hpp"

#include "analysis/report/words/wording.hpp"
#include "bench/commands/shell/deliver.hpp"
#include "bench/evidence/verify.hpp"
#include "bench/io/file_source.hpp"
#include "calibration/record/record.hpp"

#include <fmt/format.h>
#include <nlohmann/json.hpp>

#include <memory>

namespace dropledger::cli {

namespace {

using Json = nlohmann::ordered_json;

struct Options {
    std::string file;
    std::string logs;
    std::optional<std::string> public_key;
    std::optional<std::string> today;
    std::optional<std::string> serials_file;
    bool json = false;
};

Result<evidence::VerifyOptions> checked(const Options& options) {
    evidence::VerifyOptions how;
    how.today = options.today.value_or(today_utc());
    if (!is_date(how.today))
        return usage("--today", fmt::format("'{}' is no date", how.today), "YYYY-MM-DD");
    if (options.public_key) {
        auto key = public_key_text("--public-key", *options.public_key);
        if (!key)
            return key.error();
        how.public_key = *std::move(key);
    }
    if (options.serials_file) {
        auto serials = serials_in(*options.serials_file);
        if (!serials)
            return serials.error();
        how.serials = *std::move(serials);
    }
    return how;
}

std::string text_of(const evidence::Verification& found, const Options& options) {
    TextPage page;
    if (found.certificate) {
        const batch::Certificate& certificate = *found.certificate;
        page.add("certificate   {}, issued {}, valid until {}\n", certificate.id,
                 certificate.issued, certificate.valid_until);
        page.add("batch         {}, {} units, {} tested, {} nonconforming: {}\n",
                 certificate.batch.id, certificate.batch.size, certificate.decision.tested,
                 certificate.decision.nonconforming, batch::word_of(certificate.decision.outcome));
        page.add("signed by     {}{}\n", certificate.public_key,
                 options.public_key ? "" : " (nobody said whose key this must be: --public-key)");
        page.add("logs          {}\n", found.logs);
    }
    page.append(failures_text(found.failures));
    if (found.holds())
        page.add("It holds.\n");
    else
        page.add("It does NOT hold: {}.\n", counted(found.failures.size(), "failure"));
    return page.text();
}

std::string pages_words(const CertificateFile& file) {
    if (!file.same_pages)
        return "";
    return *file.same_pages
               ? "pages         as this program prints them of the signed JSON inside\n"
               : "pages         NOT as this program prints them (changed, or printed with another "
                 "version or "
                 "other fonts): what follows is of the signed JSON inside\n";
}

Json json_of(const evidence::Verification& found, const CertificateFile& file) {
    Json json{{"schema", "dropledger/batch-verify/1"},
              {"holds", found.holds()},
              {"certificate", nullptr},
              {"batch", nullptr},
              {"decision", nullptr},
              {"public_key", nullptr},
              {"logs", found.logs},
              {"failures", failures_json(found.failures)}};
    json["same_pages"] = file.same_pages ? Json(*file.same_pages) : Json(nullptr);
    if (found.certificate) {
        json["certificate"] = found.certificate->id;
        json["batch"] = found.certificate->batch.id;
        json["decision"] = batch::word_of(found.certificate->decision.outcome);
        json["public_key"] = found.certificate->public_key;
    }
    return json;
}

Result<int> run(const Options& options) {
    const auto how = checked(options);
    if (!how)
        return how.error();
    const auto folder = folder_on_disk(options.logs);
    if (!folder)
        return folder.error();
    auto text = files::whole_file(options.file, most_batch_bytes);
    if (!text)
        return text.error();
    const auto file = certificate_file(*std::move(text), options.file);
    if (!file)
        return file.error();
    const evidence::Verification found = evidence::verify(file->json, *folder, *how);
    const int status = found.holds() ? 0 : 1;
    return options.json ? deliver_json(json_of(found, *file), status)
                        : deliver_text(pages_words(*file) + text_of(found, options), status);
}

} // namespace

void add_batch_verify(Command& batch) {
    const auto options = std::make_shared<Options>();
    batch.subcommand("verify", "check a certificate and all its evidence, offline")
        .option("CERT", options->file, "certificate (JSON)")
        .required("CERT")
        .option("--logs", options->logs, "folder with logs, calibration records and profile")
        .required("--logs")
        .option("--public-key", options->public_key, "the only key that is trusted, 64 hex digits")
        .option("--today", options->today, "day to check validity on, YYYY-MM-DD")
        .option("--serials-file", options->serials_file,
                "serials of the batch: the random choice is redone")
        .flag("--json", options->json, "print one JSON object and nothing else")
        .manual("batch_verify")
        .runs([options] { return run(*options); });
}

} // namespace dropledger::cli

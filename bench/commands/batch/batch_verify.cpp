#include "analysis/base/dates.hpp"
#include "bench/commands/batch/batch_commands.hpp"
#include "bench/commands/batch/batch_files.hpp"
#include "bench/commands/batch/batch_pdf.hpp"
#include "bench/commands/shell/dates.hpp"
#include "bench/commands/shell/usage.hpp"

#include "analysis/report/words/wording.hpp"
#include "bench/evidence/verify.hpp"
#include "bench/io/file_source.hpp"
#include "calibration/record/record.hpp"

#include <fmt/format.h>
#include <nlohmann/json.hpp>

#include <memory>

namespace dropledger::cli {

namespace {

using Json = nlohmann::ordered_json;

constexpr const char* manual = R"(DESCRIPTION
  Checks a certificate offline, from its files alone: form and signature, validity, plan, profile, calibrations, and
  each log: its hash, that it is whole, its seals and signature; then audits every log again by the certified profile
  with the certified calibrations and takes the decision anew. Every failure is told with its own code.

  That the key is the bench's own must be known from elsewhere: give it with --public-key. Without it the check says
  only that nothing was changed since somebody signed. With --serials-file the random choice of units is redone too.

INPUT
  CERT.json from `batch certificate`, or a PDF from `batch print`: the signed JSON inside is checked, and whether the pages
  are what this program prints of it; --logs the folder with the logs, the calibration records and the profile.

OUTPUT
  The certificate's decision and "it holds", or the failures, one a line: code, place, fact. --json: schema
  dropledger/batch-verify/1, holds, certificate, batch, decision, public_key, logs, failures [{code, where, what}],
  same_pages (null: no PDF).
  Codes: not_a_certificate not_canonical bad_signature other_key expired · choice_differs serials_changed plan_differs ·
  profile_missing profile_changed · calibration_missing calibration_changed calibration_expired calibration_foreign
  uncalibrated · log_missing log_changed log_mixed_up log_truncated log_incomplete log_unreadable seal_broken seal_missing
  log_unsigned log_bad_signature log_other_key · certificate_contradicts outcome_differs decision_differs
  statistics_differ

EXIT STATUS
  0 all of it holds (read the decision: it may say not_accepted), 1 something fails, 64 wrong usage, 65 a file cannot be
  read, 74 file trouble.

EXAMPLES
  dropledger batch verify spring.certificate.json --logs spring --public-key 5f0e…)";

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
    std::string text;
    if (found.certificate) {
        const batch::Certificate& certificate = *found.certificate;
        text += fmt::format("certificate   {}, issued {}, valid until {}\n", certificate.id,
                            certificate.issued, certificate.valid_until);
        text +=
            fmt::format("batch         {}, {} units, {} tested, {} nonconforming: {}\n",
                        certificate.batch.id, certificate.batch.size, certificate.decision.tested,
                        certificate.decision.nonconforming, certificate.decision.outcome);
        text += fmt::format(
            "signed by     {}{}\n", certificate.public_key,
            options.public_key ? "" : " (nobody said whose key this must be: --public-key)");
        text += fmt::format("logs          {}\n", found.logs);
    }
    for (const evidence::Failure& failure : found.failures)
        text += fmt::format("{}  {}: {}\n", failure.code, failure.where, failure.what);
    return text + (found.holds() ? "It holds.\n"
                                 : fmt::format("It does NOT hold: {}.\n",
                                               counted(found.failures.size(), "failure")));
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
    Json failures = Json::array();
    for (const evidence::Failure& failure : found.failures)
        failures.push_back(
            {{"code", failure.code}, {"where", failure.where}, {"what", failure.what}});
    Json json{{"schema", "dropledger/batch-verify/1"},
              {"holds", found.holds()},
              {"certificate", nullptr},
              {"batch", nullptr},
              {"decision", nullptr},
              {"public_key", nullptr},
              {"logs", found.logs},
              {"failures", std::move(failures)}};
    json["same_pages"] = file.same_pages ? Json(*file.same_pages) : Json(nullptr);
    if (found.certificate) {
        json["certificate"] = found.certificate->id;
        json["batch"] = found.certificate->batch.id;
        json["decision"] = found.certificate->decision.outcome;
        json["public_key"] = found.certificate->public_key;
    }
    return json;
}

Result<int> run(const Options& options) {
    constexpr std::size_t longest = std::size_t{256} << 20U; // bytes
    const auto how = checked(options);
    if (!how)
        return how.error();
    const auto folder = folder_on_disk(options.logs);
    if (!folder)
        return folder.error();
    auto text = files::whole_file(options.file, longest);
    if (!text)
        return text.error();
    const auto file = certificate_file(*std::move(text), options.file);
    if (!file)
        return file.error();
    const evidence::Verification found = evidence::verify(file->json, *folder, *how);
    if (options.json)
        fmt::print("{}\n",
                   json_of(found, *file).dump(2, ' ', false, Json::error_handler_t::replace));
    else
        fmt::print("{}{}", pages_words(*file), text_of(found, options));
    return found.holds() ? 0 : 1;
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
        .flag("--json", options->json, "the result as JSON on standard output")
        .manual(manual)
        .runs([options] { return run(*options); });
}

} // namespace dropledger::cli

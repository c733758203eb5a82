#include "analysis/base/dates.hpp"
#include "bench/commands/batch/certificate/batch_pdf.hpp"
#include "bench/commands/batch/certificate/certificate.hpp"
#include "bench/commands/batch/files/batch_files.hpp"
#include "bench/commands/shell/dates.hpp"
#include "bench/commands/shell/usage.hpp"

#include "analysis/report/words/wording.hpp"
#include "bench/commands/shell/deliver.hpp"
#include "bench/evidence/verify/verify.hpp"
#include "bench/io/file_source.hpp"
#include "calibration/record/record.hpp"

#include <fmt/format.h>
#include <nlohmann/json.hpp>

#include <memory>

namespace dropledger::cli {

namespace {

using Json = nlohmann::ordered_json;

constexpr std::size_t most_statement_bytes = std::size_t{1} << 16U;

struct Options {
    std::string file;
    std::string logs;
    std::vector<std::string> public_keys;
    std::optional<std::string> today;
    std::optional<std::string> serials_file;
    std::string opening;
    std::string buyer_text;
    std::vector<std::string> revocations;
    bool rehearsal = false;
    bool json = false;
};

// "issuer=HEX", "bench=HEX", or HEX for both.
Status take_key(const std::string& text, evidence::VerifyOptions& how) {
    using evidence::KeyRole;
    const std::size_t equals = text.find('=');
    const std::string role = equals == std::string::npos ? "" : text.substr(0, equals);
    const std::string hex = equals == std::string::npos ? text : text.substr(equals + 1);
    if (!role.empty() && role != "issuer" && role != "bench")
        return usage("--public-key", fmt::format("'{}' is no role of a key", role),
                     "write issuer=HEX, bench=HEX, or HEX alone for both");
    auto key = public_key_text("--public-key", hex);
    if (!key)
        return key.error();
    if (role != "bench")
        how.keys.push_back({KeyRole::issuer, *key});
    if (role != "issuer")
        how.keys.push_back({KeyRole::bench, *key});
    return Done{};
}

Result<evidence::VerifyOptions> checked(const Options& options) {
    evidence::VerifyOptions how;
    how.today = options.today.value_or(today_utc());
    if (!is_date(how.today))
        return usage("--today", fmt::format("'{}' is no date", how.today), "YYYY-MM-DD");
    how.rehearsal = options.rehearsal;
    how.opening = options.opening;
    how.buyer_text = options.buyer_text;
    for (const std::string& text : options.public_keys)
        if (const Status named = take_key(text, how); !named)
            return named.error();
    for (const std::string& file : options.revocations) {
        auto text = files::whole_file(file, most_statement_bytes);
        if (!text)
            return text.error();
        how.revocations.push_back(*std::move(text));
    }
    if (options.serials_file) {
        auto serials = serials_in(*options.serials_file);
        if (!serials)
            return serials.error();
        how.serials = *std::move(serials);
    }
    return how;
}

std::string certificate_text(const batch::Certificate& certificate, std::size_t logs) {
    TextPage page;
    page.add("certificate   {}, issued {}, valid until {}\n", certificate.id, certificate.issued,
             certificate.valid_until);
    page.add("batch         {}, {} units, {} tested, {} nonconforming: {}\n", certificate.batch.id,
             certificate.batch.size, certificate.decision.tested,
             certificate.decision.nonconforming, batch::word_of(certificate.decision.outcome));
    page.add("signed by     {}\n", certificate.public_key);
    for (const batch::CertifiedKey& key : certificate.keys)
        page.add("key           {}: {} logs, {} entries of the batch file\n", key.public_key,
                 key.logs, key.entries);
    page.add("logs          {}\n", logs);
    for (const std::string& remark : certificate.remarks)
        page.add("note          {}\n", remark);
    return page.text();
}

std::string text_of(const evidence::Verification& found) {
    TextPage page;
    if (found.certificate)
        page.append(certificate_text(*found.certificate, found.logs));
    page.append(failures_text(found.failures));
    if (!found.failures.empty() || !found.certificate)
        page.add("It does NOT hold: {}.\n", counted(found.failures.size(), "failure"));
    else
        page.append(found.certificate->batch.rehearsal
                        ? "It holds, as a REHEARSAL: it certifies nothing.\n"
                        : "It holds.\n");
    page.add("Not checked, because nobody but you can:\n");
    for (const std::string& open : found.not_checked)
        page.add("  {}\n", open);
    return page.text();
}

Json json_of(const evidence::Verification& found, const CertificateFile& file) {
    Json json{{"schema", "dropledger/batch-verify/2"},
              {"holds", found.holds()},
              {"certificate", nullptr},
              {"batch", nullptr},
              {"decision", nullptr},
              {"rehearsal", nullptr},
              {"public_key", nullptr},
              {"keys", Json::array()},
              {"remarks", Json::array()},
              {"logs", found.logs},
              {"failures", failures_json(found.failures)},
              {"not_checked", found.not_checked},
              {"is_pdf", file.pages_sha256.has_value()}};
    if (!found.certificate)
        return json;
    json["certificate"] = found.certificate->id;
    json["batch"] = found.certificate->batch.id;
    json["decision"] = batch::word_of(found.certificate->decision.outcome);
    json["rehearsal"] = found.certificate->batch.rehearsal;
    json["public_key"] = found.certificate->public_key;
    json["remarks"] = found.certificate->remarks;
    for (const batch::CertifiedKey& key : found.certificate->keys)
        json["keys"].push_back(
            {{"public_key", key.public_key}, {"logs", key.logs}, {"entries", key.entries}});
    return json;
}

// Of a PDF: its pages must be those whose hash was signed.
void check_pages(const CertificateFile& file, evidence::Verification& found) {
    if (!file.pages_sha256 || !found.certificate)
        return;
    const std::string& stated = found.certificate->pages_sha256;
    if (stated.empty())
        found.failures.push_back({"pages_not_signed", "pages",
                                  "the certificate was signed without pages: what they say is "
                                  "nobody's word"});
    else if (stated != *file.pages_sha256)
        found.failures.push_back({"pages_differ", "pages",
                                  fmt::format("their SHA-256 is {}, signed was {}: they are not "
                                              "the pages of this certificate",
                                              *file.pages_sha256, stated)});
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
    evidence::Verification found = evidence::verify(file->json, *folder, *how);
    check_pages(*file, found);
    const int status = found.holds() ? 0 : 1;
    return options.json ? deliver_json(json_of(found, *file), status)
                        : deliver_text(text_of(found), status);
}

} // namespace

void add_batch_verify(Command& batch) {
    const auto options = std::make_shared<Options>();
    batch.subcommand("verify", "check a certificate and all its evidence, offline")
        .option("CERT", options->file, "certificate (JSON)")
        .required("CERT")
        .option("--logs", options->logs, "folder with logs, calibration records and profile")
        .required("--logs")
        .repeated("--public-key", options->public_keys,
                  "a key that is trusted, 64 hex digits; issuer=HEX or bench=HEX for one role only")
        .option("--today", options->today, "day to check validity on, YYYY-MM-DD")
        .option("--serials-file", options->serials_file,
                "serials that were delivered, in the batch's order")
        .option("--opening", options->opening, "hash that you were told when the batch was opened")
        .option("--buyer-seed", options->buyer_text, "text that you gave for the choice")
        .repeated("--revocation", options->revocations,
                  "statement of the issuer that takes certificates back; those in the folder are "
                  "read anyway")
        .flag("--rehearsal", options->rehearsal, "let a rehearsal hold, as what it is")
        .flag("--json", options->json, "print one JSON object and nothing else")
        .manual("batch_verify")
        .runs([options] { return run(*options); });
}

} // namespace dropledger::cli

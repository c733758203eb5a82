// What the issuer states: of himself and the goods, and that a certificate is taken back.
#include "analysis/batch/chain/batch_file.hpp"
#include "analysis/batch/chain/revocation.hpp"
#include "analysis/droplog/seal.hpp"
#include "bench/evidence/verify/checks.hpp"

#include <fmt/format.h>

#include <algorithm>

namespace dropledger::evidence {

using batch::Certificate;

namespace {

constexpr std::string_view revocation_ending = ".revocation.json";
constexpr std::size_t longest_fact = 200;
constexpr std::size_t most_deviations = 20;

bool is_plain_line(const std::string& text) {
    return text.size() <= longest_fact && std::none_of(text.begin(), text.end(), [](char c) {
               return static_cast<unsigned char>(c) < 0x20 || c == 0x7f;
           });
}

bool may_revoke(const Certificate& certificate, const VerifyOptions& options,
                const std::string& key) {
    return key == certificate.public_key ||
           std::any_of(options.keys.begin(), options.keys.end(), [&](const TrustedKey& one) {
               return one.role == KeyRole::issuer && one.hex == key;
           });
}

class RevocationCheck {
public:
    RevocationCheck(std::string_view text, const Certificate& certificate,
                    const VerifyOptions& options, Failures& failures)
        : sha256_(droplog::to_hex(droplog::sha256(text))), certificate_(certificate),
          options_(options), failures_(failures) {}

    void take(std::string_view statement, const std::string& where) {
        const auto found = batch::revocation_in(statement);
        if (!found)
            failures_.push_back({"revocation_unreadable", where, found.error().what});
        else if (found->sha256 == sha256_ && may_revoke(certificate_, options_, found->public_key))
            say(where, found->at, found->cause, found->text);
    }

    void take_batch(const batch::Batch& batch, const std::string& where) {
        for (const batch::Revocation& one : batch.revocations)
            if (one.sha256 == sha256_)
                say(where, one.at, one.cause, one.text);
    }

private:
    void say(const std::string& where, const std::string& at, batch::RevocationCause cause,
             const std::string& text) {
        failures_.push_back({"revoked", where,
                             fmt::format("its issuer took it back at {} ({}): {}", at,
                                         row_in(batch::revocation_cause_names, cause).key, text)});
    }

    std::string sha256_;
    const Certificate& certificate_;
    const VerifyOptions& options_;
    Failures& failures_;
};

} // namespace

void check_revoked(std::string_view text, const Certificate& certificate,
                   const VerifyOptions& options, const Folder& folder, Failures& failures) {
    RevocationCheck check(text, certificate, options, failures);
    for (const std::string& statement : options.revocations)
        check.take(statement, "revocation");
    std::vector<std::string> names = folder.names();
    std::sort(names.begin(), names.end());
    for (const std::string& name : names)
        if (name.ends_with(revocation_ending))
            if (const auto found = read_text(folder.open(name)))
                check.take(found->text, name);
    const std::string& file = certificate.batch.journal.file;
    if (!is_plain_name(file) || !folder.holds(file))
        return;
    constexpr std::size_t longest = std::size_t{64} << 20U;
    const auto source = folder.open(file)();
    const auto whole = source ? read_whole(**source, longest) : Result<std::string>(source.error());
    if (const auto batch =
            whole ? batch::parse_batch(*whole, file) : Result<batch::Batch>(whole.error()))
        check.take_batch(*batch, file);
}

void check_report(const batch::ReportFacts& report, Failures& failures) {
    std::vector<std::string> all{report.number, report.issuer,  report.place,
                                 report.client, report.product, report.authorised_by};
    all.insert(all.end(), report.deviations.begin(), report.deviations.end());
    if (report.deviations.size() > most_deviations ||
        !std::all_of(all.begin(), all.end(), is_plain_line))
        failures.push_back({"report_refused", "report",
                            fmt::format("what the issuer states is not plain text, a line of at "
                                        "most {} bytes each, with at most {} deviations",
                                        longest_fact, most_deviations)});
}

} // namespace dropledger::evidence

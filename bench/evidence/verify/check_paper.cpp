#include "analysis/base/dates.hpp"
#include "analysis/base/version.hpp"
#include "analysis/batch/chain/choice.hpp"
#include "bench/evidence/verify/checks.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <set>

namespace dropledger::evidence {

using batch::Certificate;

namespace {

bool trusted(const VerifyOptions& options, KeyRole role, const std::string& hex) {
    return std::any_of(options.keys.begin(), options.keys.end(),
                       [&](const TrustedKey& key) { return key.role == role && key.hex == hex; });
}

bool before(const std::string& a, const std::string& b) {
    const auto first = parse_rfc3339(a, 0);
    const auto second = parse_rfc3339(b, 0);
    return first && second && *first < *second;
}

void check_validity(const Certificate& certificate, const VerifyOptions& options,
                    Failures& failures) {
    const std::string issued = day_of(certificate.issued);
    if (issued.empty() || !parse_rfc3339(certificate.issued, 0))
        failures.push_back({"not_yet_valid", "certificate", "it does not say when it was issued"});
    else if (options.today < issued)
        failures.push_back({"not_yet_valid", "certificate",
                            fmt::format("it is not valid yet: it was issued on {}, today is {}",
                                        issued, options.today)});
    if (!is_date(certificate.valid_until))
        failures.push_back({"expired", "certificate", "it does not say until when it is valid"});
    else if (options.today > certificate.valid_until)
        failures.push_back({"expired", "certificate",
                            fmt::format("it was valid until {}, today is {}",
                                        certificate.valid_until, options.today)});
    if (before(certificate.issued, certificate.decision.decided))
        failures.push_back({"times_out_of_order", "certificate",
                            fmt::format("it was issued at {}, before the decision at {}",
                                        certificate.issued, certificate.decision.decided)});
}

void check_keys(const Certificate& certificate, const VerifyOptions& options, Failures& failures) {
    if (!trusted(options, KeyRole::issuer, certificate.public_key))
        failures.push_back({"other_key", "certificate",
                            fmt::format("it is signed by the key {}, which was not named as the "
                                        "issuer's",
                                        certificate.public_key)});
    std::set<std::string> seen;
    for (const batch::TestedRun& run : certificate.runs)
        if (!run.signed_by.empty() && !trusted(options, KeyRole::bench, run.signed_by) &&
            seen.insert(run.file).second)
            failures.push_back({"log_other_key", run.file,
                                fmt::format("it is signed by the key {}, which was not named as a "
                                            "bench's",
                                            run.signed_by)});
    for (const batch::CertifiedKey& key : certificate.keys)
        if (key.entries > 0 && !trusted(options, KeyRole::issuer, key.public_key) &&
            !trusted(options, KeyRole::bench, key.public_key))
            failures.push_back({"entry_other_key", certificate.batch.journal.file,
                                fmt::format("{} of its entries are signed by the key {}, which was "
                                            "not named",
                                            key.entries, key.public_key)});
}

} // namespace

void check_form(std::string_view text, const Certificate& certificate, const VerifyOptions& options,
                Failures& failures) {
    const bool is_canonical = batch::is_canonical(text);
    if (!is_canonical)
        failures.push_back(
            {"not_canonical", "certificate",
             "its bytes are not in the canonical form: it was changed after it was issued"});
    if (!batch::signature_holds(text))
        failures.push_back(
            {"bad_signature", "certificate",
             "the signature does not fit what is written: it was changed, or is forged"});
    const auto written = batch::to_text(certificate);
    if (is_canonical && (!written || *written != text))
        failures.push_back({"member_differs", "certificate",
                            "it has members, or numbers, that this program does not write"});
    check_validity(certificate, options, failures);
    if (certificate.batch.rehearsal && !options.rehearsal)
        failures.push_back({"simulated", "certificate",
                            "it is a REHEARSAL: runs were SIMULATED or times stated; it certifies "
                            "nothing"});
}

void check_known(const Certificate& certificate, const VerifyOptions& options, Failures& failures) {
    const batch::CertifiedBatch& stated = certificate.batch;
    if (!options.keys.empty())
        check_keys(certificate, options, failures);
    if (!options.serials.empty() && batch::serials_hash(options.serials) != stated.serials_sha256)
        failures.push_back({"serials_changed", "batch.serials_sha256",
                            "the list of serials is not the certified one"});
    if (!options.opening.empty() && options.opening != stated.journal.opening)
        failures.push_back({"other_opening", stated.journal.file,
                            fmt::format("its first entry has the hash {}, you were told {}: it was "
                                        "opened anew",
                                        stated.journal.opening, options.opening)});
    if (!options.buyer_text.empty() && options.buyer_text != stated.choice.buyer_text)
        failures.push_back(
            {"other_buyer_text", "batch.choice",
             fmt::format("the units were chosen with the buyer's text '{}', yours is "
                         "'{}'",
                         stated.choice.buyer_text, options.buyer_text)});
}

std::vector<std::string> left_open(const Certificate& certificate, const VerifyOptions& options) {
    std::vector<std::string> open;
    if (options.keys.empty())
        open.emplace_back("whose keys these are: nobody said which to trust");
    if (options.serials.empty())
        open.emplace_back("whether the serials are those that were delivered");
    if (options.opening.empty())
        open.emplace_back("whether the batch was opened once only: compare the opening's hash with "
                          "the one that the issuer told you then");
    if (certificate.batch.choice.origin != batch::SeedOrigin::with_buyer)
        open.emplace_back("how often the seed of the choice was drawn or picked: it has no buyer's "
                          "part");
    else if (options.buyer_text.empty())
        open.emplace_back("whether the buyer's text was yours");
    if (certificate.program != program_and_version())
        open.push_back(fmt::format("whether {} would say the same: it issued, {} verified",
                                   certificate.program, program_and_version()));
    if (options.revocations.empty())
        open.emplace_back("whether the issuer took it back since: ask him for revocations");
    open.emplace_back("whether the runs took place: who holds the key can invent them");
    return open;
}

} // namespace dropledger::evidence

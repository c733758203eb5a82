#include "bench/evidence/verify/issue.hpp"

#include "analysis/droplog/seal.hpp"
#include "bench/evidence/certificate/drawn_up.hpp"

#include <fmt/format.h>

namespace dropledger::evidence {

using batch::Batch;
using batch::Certificate;

namespace {

VerifyOptions as_a_buyer(const Batch& batch, const Certificate& certificate,
                         const IssueRequest& request) {
    VerifyOptions options;
    options.today = day_of(request.issued);
    options.rehearsal = batch.rehearsal;
    options.keys = {{KeyRole::issuer, certificate.public_key},
                    {KeyRole::bench, certificate.public_key}};
    for (const std::string& key : request.bench_keys)
        options.keys.push_back({KeyRole::bench, key});
    return options;
}

} // namespace

Result<Issued> issue(const Batch& batch, const Folder& folder, const IssueRequest& request) {
    const std::string where = fmt::format("batch {}", batch.id);
    if (batch.decision && batch.decision->outcome == batch::LotOutcome::not_accepted &&
        !request.not_accepted_too)
        return usage_error(where, "it was not accepted: there is nothing to certify",
                           "`not_accepted` signs the evidence of a batch that was not accepted");
    auto certificate = drawn_up(batch, {.batch_file = request.batch_file,
                                        .issued = request.issued,
                                        .valid_until = request.valid_until,
                                        .report = request.report});
    if (!certificate)
        return certificate.error();
    certificate->public_key = droplog::to_hex(droplog::public_key_of(request.key));
    Issued issued;
    if (request.print) {
        issued.pages = request.print(*certificate);
        certificate->pages_sha256 = droplog::to_hex(droplog::sha256(issued.pages));
    }
    auto complete = batch::signed_with(request.key, *certificate);
    if (!complete)
        return complete.error();
    auto text = batch::to_text(*complete);
    if (!text)
        return text.error();
    issued.certificate = *std::move(complete);
    issued.text = *std::move(text);
    issued.failures =
        verify(issued.text, folder, as_a_buyer(batch, issued.certificate, request)).failures;
    return issued;
}

} // namespace dropledger::evidence

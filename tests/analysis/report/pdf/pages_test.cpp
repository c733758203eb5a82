#include "analysis/report/pdf/pages.hpp"

#include "analysis/report/pdf/attachment.hpp"
#include "analysis/report/pdf/words.hpp"
#include "sample.hpp"

#include <gtest/gtest.h>

namespace dropledger::report::certificate {

namespace {

struct Made {
    std::string json;
    std::string pdf;
};

Made made(const batch::Certificate& certificate) {
    const auto whole = signed_sample(certificate);
    Made out{*batch::to_text(whole), ""};
    out.pdf = with_signed(pages(whole), whole, out.json);
    return out;
}

std::optional<std::string> attached_json(const std::string& pdf) {
    auto found = taken_apart(pdf);
    return found ? std::optional(std::move(found->json)) : std::nullopt;
}

int pages_of(const std::string& pdf) {
    const std::size_t at = pdf.find("/Count ");
    return at == std::string::npos ? 0 : std::stoi(pdf.substr(at + 7));
}

} // namespace

TEST(CertificatePages, AreTheSameBytesEveryTime) {
    const auto certificate = sample_certificate(50);
    EXPECT_EQ(made(certificate).pdf, made(certificate).pdf);
}

// The hash of the pages is signed: neither it nor the signature may stand on them.
TEST(CertificatePages, AreTheSameBeforeAndAfterTheSignature) {
    batch::Certificate certificate = signed_sample(sample_certificate(13));
    const std::string signed_pages = pages(certificate);
    certificate.signature = "";
    certificate.pages_sha256 = "";
    EXPECT_EQ(pages(certificate), signed_pages);
    EXPECT_EQ(taken_apart(with_signed(signed_pages, certificate, "{}"))->pages, signed_pages);
}

TEST(CertificatePages, SayOnEachThatARehearsalIsSimulated) {
    batch::Certificate certificate = sample_certificate(13);
    EXPECT_EQ(title(certificate).find("SIMULATED"), std::string::npos);
    certificate.batch.rehearsal = true;
    EXPECT_EQ(title(certificate).find("SIMULATED, a rehearsal. Batch"), 0U);
}

TEST(CertificatePages, AreFewForAUsualSampleAndFlowOnForALongOne) {
    EXPECT_LE(pages_of(made(sample_certificate(50)).pdf), 6);
    EXPECT_GT(pages_of(made(sample_certificate(200)).pdf), 8);
}

TEST(CertificatePages, GiveBackTheSignedJsonByteForByte) {
    const Made both = made(sample_certificate(13));
    EXPECT_EQ(attached_json(both.pdf), both.json);
    EXPECT_FALSE(attached_json(both.json));
    EXPECT_FALSE(attached_json(""));
}

// A PDF that was added to, cut, or changed in its attachment's wrapping is not read.
TEST(CertificatePages, GiveNothingBackAfterAChange) {
    const Made both = made(sample_certificate(5));
    EXPECT_FALSE(attached_json(both.pdf + "\n"));
    EXPECT_FALSE(attached_json(both.pdf.substr(0, both.pdf.size() - 1)));
    for (std::size_t at = both.pdf.find("%%EOF\n") + 6; at < both.pdf.size(); at += 17) {
        std::string changed = both.pdf;
        changed[at] = static_cast<char>(changed[at] ^ 0x01);
        const auto json = attached_json(changed);
        // Inside the JSON a change comes out, for its signature to fail; elsewhere nothing does.
        EXPECT_TRUE(!json || !batch::is_canonical(*json) || !batch::signature_holds(*json)) << at;
    }
}

TEST(CertificatePages, SurviveHostileTexts) {
    auto certificate = sample_certificate(6);
    certificate.issued = "no date)";
    certificate.batch.id = "\nendobj\ntrailer\n<< /Size 3 >>\n%%EOF\n" + std::string(3000, 'B');
    certificate.batch.size = -5;
    certificate.runs[1].unit = std::string(5000, 'W');
    certificate.runs[2].unit = "\xFF\xFE broken \n lines";
    certificate.not_said.push_back(std::string(20000, 'y'));
    certificate.plan.n = 0;
    const std::string pdf = with_signed(pages(certificate), certificate,
                                        "{\"%%EOF\\n\": \"endstream endobj\"}\n%%EOF\n");
    EXPECT_EQ(attached_json(pdf), "{\"%%EOF\\n\": \"endstream endobj\"}\n%%EOF\n");
    EXPECT_GE(pages_of(pdf), 4);
}

TEST(Attachment, RefusesWhatIsNoPlainPdf) {
    const Made both = made(sample_certificate(5));
    EXPECT_FALSE(with_attachment(both.pdf, {"again.json", "{}"})); // one is there already
    EXPECT_FALSE(with_attachment("%PDF-1.5\n", {"a.json", "{}"}));
    const std::size_t end = both.pdf.find("%%EOF\n") + 6;
    const std::string pages = both.pdf.substr(0, end);
    EXPECT_TRUE(with_attachment(pages, {"a.json", ""}));
    EXPECT_FALSE(with_attachment(pages, {"a).json", "{}"}));
    EXPECT_FALSE(with_attachment(pages, {"", "{}"}));
    const auto empty = attachment_of(*with_attachment(pages, {"a.json", ""}));
    ASSERT_TRUE(empty);
    EXPECT_EQ(empty->file.bytes, "");
    EXPECT_EQ(empty->file.name, "a.json");
    EXPECT_EQ(empty->pages, pages);
}

TEST(CertificateWords, SayOutcomeAndNumbers) {
    auto certificate = sample_certificate(50);
    EXPECT_EQ(title(certificate), "Batch SPRING-07: accepted");
    EXPECT_EQ(lead(certificate),
              "Of 280 units in the batch, 50 were chosen at random and 50 tested to a decision; 1 "
              "of them does not keep to the profile single-fine. The plan accepts with at most 1: "
              "the batch is accepted.");
    const auto against = facts(certificate)[2].text;
    EXPECT_EQ(against, "profile single-fine, mode single: miss index M at most 5 %; offset (median "
                       "over landings) in magnitude at most 10 mm");
    certificate.decision.outcome = batch::LotOutcome::not_accepted;
    EXPECT_EQ(title(certificate), "Batch SPRING-07: not accepted");
    const auto expected = expectations(certificate.statistics);
    EXPECT_EQ(expected[0],
              "Share of all units of such a batch that do not keep to the profile, from "
              "the tested units alone: 2.0 % (95 % interval 0.1 to 10.0 %).");
    EXPECT_EQ(expected[1].find("Share of all units of such a batch with more than 5 % misses"), 0U);
    const auto report = report_facts(certificate);
    EXPECT_EQ(report[0].text, "C-2026-07 (SPRING-07/2026-02-01T10:00:00Z)");
    EXPECT_EQ(report[5].text, "280 units: SU-0001 to SU-0280");
    certificate.report = {};
    EXPECT_EQ(report_facts(certificate)[1].text, "not stated");
    const auto rule = decision_rule(certificate);
    EXPECT_NE(rule[0].find("undecided otherwise or with fewer than 250 drops"), std::string::npos);
    EXPECT_NE(rule.back().find("Producer's risk: a batch with 0.71 %"), std::string::npos);
    EXPECT_NE(rule.back().find("Consumer's risk: a batch with 7.1 %"), std::string::npos);
    EXPECT_EQ(time_words("2026-02-01T10:00:00Z"), "2026-02-01 10:00 UTC");
    EXPECT_EQ(time_words("soon"), "soon");
    certificate.batch.id = "a/b (c)";
    EXPECT_EQ(attachment_name(certificate), "a_b__c_.certificate.json");
}

// "0.0000 %" for a share that is not nought says what is not so.
TEST(CertificateWords, SayBelowWhereDigitsEnd) {
    using statistics::Interval;
    const auto share = [](double low, double value, double high) {
        return statistics::Estimate{value, Interval{low, high}, Confidence{0.95}, "constructed"};
    };
    EXPECT_EQ(estimate_value(share(0.0, 1e-9, 1e-8), Unit::percent), "below 0.0001 %");
    EXPECT_EQ(estimate_interval(share(0.0, 1e-9, 1e-8), Unit::percent), "0 to below 0.0001 %");
    EXPECT_EQ(estimate_value(share(0.0, 0.0, 0.01), Unit::percent), "0 %");
    EXPECT_EQ(estimate_interval(share(0.0, 0.0, 0.01), Unit::percent), "0 to 1.00 %");
    EXPECT_EQ(estimate_interval(share(0.0016, 0.06, 0.30), Unit::percent), "0.2 to 30 %");
    EXPECT_EQ(estimate_interval(share(0.01, 0.02, 0.03), Unit::percent), "1.00 to 3.00 %");
}

} // namespace dropledger::report::certificate

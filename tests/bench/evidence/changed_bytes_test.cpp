#include "verifying.hpp"

#include <gtest/gtest.h>

using namespace dropledger;
using namespace dropledger::evidence;
using batch::Certificate;

// One bit of every seventh byte of every file of the set, one after the other. That seal, signature
// and canonical form leave no byte free the tests of their rooms say of every byte.
constexpr std::size_t step = 7;

TEST(Verify, FindsAChangedByteOfTheCertificate) {
    Sample other = copy();
    const Means means = remembering();
    const VerifyOptions options = on("2026-02-01");
    ASSERT_TRUE(verify(other.certificate, other.folder(), options, means).holds());
    std::string& text = other.certificate;
    for (std::size_t i = 0; i < text.size(); i += step) {
        text[i] = static_cast<char>(text[i] ^ (1 << i % 8));
        EXPECT_FALSE(verify(text, other.folder(), options, means).holds()) << i;
        text[i] = static_cast<char>(text[i] ^ (1 << i % 8));
    }
    EXPECT_GT(text.size(), 2'000U);
}

TEST(Verify, FindsAChangedByteOfEveryLogCalibrationAndBatchFile) {
    Sample other = copy();
    const Means means = remembering();
    const Certificate certificate = *batch::parse_certificate(other.certificate, "certificate");
    const Folder folder = other.folder();
    ASSERT_TRUE(verify_files(certificate, folder, means).failures.empty());
    std::size_t flipped = 0;
    for (auto& [name, text] : *other.files)
        for (std::size_t i = 0; i < text.size(); i += step, ++flipped) {
            text[i] = static_cast<char>(text[i] ^ (1 << i % 8));
            EXPECT_FALSE(verify_files(certificate, folder, means).failures.empty())
                << name << " byte " << i;
            text[i] = static_cast<char>(text[i] ^ (1 << i % 8));
        }
    EXPECT_GT(flipped, 2'000U);
    ASSERT_TRUE(verify_files(certificate, folder, means).failures.empty());
}

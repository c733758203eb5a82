#include "analysis/batch/certificate/certificate.hpp"
#include "analysis/batch/chain/batch_file.hpp"

#include <gtest/gtest.h>

using namespace dropledger::batch;

// 2026-11-25: 200,000 nested arrays ended `batch verify` and `batch decide` with a signal.
TEST(HostileJson, IsRefusedByBatchFileAndCertificateBeforeItIsParsed) {
    const std::string hostile =
        "{\"schema\":" + std::string(200'000, '[') + std::string(200'000, ']') + "}";
    EXPECT_NE(parse_certificate(hostile, "c").error().what.find("nested"), std::string::npos);
    EXPECT_NE(parse_batch(hostile, "b").error().what.find("nested"), std::string::npos);
    EXPECT_FALSE(is_canonical(hostile));
    EXPECT_FALSE(signature_holds(hostile));
}

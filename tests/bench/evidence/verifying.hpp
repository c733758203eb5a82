// The sample, verified; and what is expected of a verification.
#pragma once

#include "sample.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <optional>
#include <string>
#include <vector>

namespace dropledger::evidence {

inline const Sample& sample() {
    static const Sample one = made();
    return one;
}

// A copy whose files may be changed.
inline Sample copy() {
    Sample other = sample();
    other.files = std::make_shared<Files>(*sample().files);
    return other;
}

inline VerifyOptions on(const std::string& today,
                        const std::optional<droplog::PrivateKey>& key = {}) {
    VerifyOptions options;
    options.today = today;
    options.rehearsal = true;
    if (key)
        options.keys = {{KeyRole::issuer, hex_of(*key)}, {KeyRole::bench, hex_of(*key)}};
    return options;
}

inline VerifyOptions knowing(const std::vector<std::string>& serials) {
    VerifyOptions options = on("2026-02-01");
    options.serials = serials;
    return options;
}

inline Verification verified(const Sample& sample,
                             const VerifyOptions& options = on("2026-02-01")) {
    return verify(sample.certificate, sample.folder(), options);
}

inline std::string text_of(const Verification& verification) {
    std::string text;
    for (const Failure& failure : verification.failures)
        text += failure.code + " " + failure.where + ": " + failure.what + "\n";
    return text;
}

// This failure is reported, in these words.
inline void expect_failure(const Verification& verification, const std::string& code,
                           const std::string& words) {
    const bool found = std::any_of(
        verification.failures.begin(), verification.failures.end(), [&](const Failure& failure) {
            return failure.code == code &&
                   (failure.where + ": " + failure.what).find(words) != std::string::npos;
        });
    EXPECT_TRUE(found) << code << " (" << words << ") is not among:\n" << text_of(verification);
}

// … and nothing else.
inline void expect_only(const Verification& verification, const std::string& code,
                        const std::string& words) {
    expect_failure(verification, code, words);
    EXPECT_EQ(verification.failures.size(), 1U) << text_of(verification);
}

} // namespace dropledger::evidence

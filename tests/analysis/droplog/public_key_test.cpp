#include "analysis/droplog/public_key.hpp"

#include "analysis/droplog/soundness.hpp"
#include "tests/analysis/droplog/logs.hpp"

#include <gtest/gtest.h>
#include <openssl/evp.h>

#include <array>

using namespace dropledger;
using namespace dropledger::droplog;

namespace {

// The points of small order as RFC 8032 writes them (from memory; tests/bench/conformance/ed25519.py
// computes the same).
constexpr std::array points{"0000000000000000000000000000000000000000000000000000000000000000",
                            "0000000000000000000000000000000000000000000000000000000000000080",
                            "0100000000000000000000000000000000000000000000000000000000000000",
                            "26e8958fc2b227b045c3f489f2ef98f0d5dfac05d3c63339b13802886d53fc05",
                            "26e8958fc2b227b045c3f489f2ef98f0d5dfac05d3c63339b13802886d53fc85",
                            "c7176a703d4dd84fba3c0b760d10670f2a2053fa2c39ccc64ec7fd7792ac037a",
                            "c7176a703d4dd84fba3c0b760d10670f2a2053fa2c39ccc64ec7fd7792ac03fa",
                            "ecffffffffffffffffffffffffffffffffffffffffffffffffffffffffffff7f"};

// The same points in ways that RFC 8032 does not allow: y + 2^255 - 19 where that fits into 255
// bits, and a sign on x = 0.
constexpr std::array other_ways{"0100000000000000000000000000000000000000000000000000000000000080",
                                "ecffffffffffffffffffffffffffffffffffffffffffffffffffffffffffffff",
                                "edffffffffffffffffffffffffffffffffffffffffffffffffffffffffffff7f",
                                "edffffffffffffffffffffffffffffffffffffffffffffffffffffffffffffff",
                                "eeffffffffffffffffffffffffffffffffffffffffffffffffffffffffffff7f",
                                "eeffffffffffffffffffffffffffffffffffffffffffffffffffffffffffffff"};

PublicKey key_of(const char* hex) {
    return from_hex<32>(hex).value();
}

// What OpenSSL says by itself.
bool holds_for_openssl(const PublicKey& key, const Signature& signature, const std::string& text) {
    EVP_PKEY* open = EVP_PKEY_new_raw_public_key(EVP_PKEY_ED25519, nullptr, key.data(), key.size());
    EVP_MD_CTX* context = EVP_MD_CTX_new();
    const bool holds =
        open != nullptr && EVP_DigestVerifyInit(context, nullptr, nullptr, nullptr, open) == 1 &&
        EVP_DigestVerify(context, signature.data(), signature.size(),
                         reinterpret_cast<const unsigned char*>(text.data()), text.size()) == 1;
    EVP_MD_CTX_free(context);
    EVP_PKEY_free(open);
    return holds;
}

// S = 0 and R one of the points: whoever knows no key at all can try these.
Signature forged(const char* commitment) {
    Signature signature{};
    const PublicKey r = key_of(commitment);
    std::copy(r.begin(), r.end(), signature.begin());
    return signature;
}

// How many of the forged signatures hold under this key, as `holds` says.
template <class Holds> int forgeries(const PublicKey& key, Holds holds) {
    int count = 0;
    for (const char* commitment : points)
        for (int i = 0; i < 64; ++i)
            count += holds(key, forged(commitment), "seal " + std::to_string(i)) ? 1 : 0;
    return count;
}

} // namespace

TEST(PublicKey, OfSmallOrderIsRefusedThoughForgedSignaturesHoldUnderIt) {
    for (const char* hex : points) {
        SCOPED_TRACE(hex);
        const PublicKey key = key_of(hex);
        EXPECT_FALSE(may_be_trusted(key));
        EXPECT_GT(forgeries(key, holds_for_openssl), 0); // else the next line proves nothing
        EXPECT_EQ(forgeries(key, verifies), 0);
    }
}

TEST(PublicKey, WrittenInAnotherWayIsRefused) {
    for (const char* hex : other_ways) {
        SCOPED_TRACE(hex);
        EXPECT_FALSE(may_be_trusted(key_of(hex)));
        EXPECT_EQ(forgeries(key_of(hex), verifies), 0);
    }
    for (int first = 0xed; first <= 0xff; ++first) { // all that are not below 2^255 - 19
        PublicKey key = key_of(other_ways[2]);
        key.front() = static_cast<std::uint8_t>(first);
        EXPECT_FALSE(may_be_trusted(key)) << first;
    }
}

TEST(PublicKey, NextToTheRefusedOnesMayBeTrusted) {
    PublicKey largest = key_of(points[7]);
    largest.front() = 0xeb; // y = 2^255 - 21
    EXPECT_TRUE(may_be_trusted(largest));
    PublicKey two{};
    two.front() = 2;
    EXPECT_TRUE(may_be_trusted(two));
    for (std::uint8_t i = 0; i < 50; ++i)
        EXPECT_TRUE(may_be_trusted(public_key_of(PrivateKey{i, 1})));
}

TEST(PublicKey, OfSmallOrderSignsNoLog) {
    const std::string log = healthy_log(3, PrivateKey{1});
    auto lines = lines_of(log);
    const std::string identity = points[2];
    lines.back() = encode("@close,count," + identity + ',' + to_hex(forged(points[2]))) + '\n';
    const auto reading = check(joined(lines));
    ASSERT_TRUE(reading);
    EXPECT_TRUE(holds_for_openssl(key_of(points[2]), forged(points[2]), "anything at all"));
    EXPECT_FALSE(reading->integrity.is_signed);
    EXPECT_TRUE(reading->integrity.bad_signature);
    EXPECT_FALSE(is_sound(reading->integrity));
}

// RFC 8032, section 5.1.7: S must be below the order of the group, else one signature has two forms.
TEST(Ed25519, RefusesASignatureWithTheOrderAddedToS) {
    const PrivateKey key{7};
    Signature signature = sign(key, "a seal");
    // 2^252 + 27742317777372353535851937790883648493, little-endian
    constexpr std::array<std::uint8_t, 32> order{0xed, 0xd3, 0xf5, 0x5c, 0x1a, 0x63, 0x12, 0x58,
                                                 0xd6, 0x9c, 0xf7, 0xa2, 0xde, 0xf9, 0xde, 0x14,
                                                 0,    0,    0,    0,    0,    0,    0,    0,
                                                 0,    0,    0,    0,    0,    0,    0,    0x10};
    unsigned carry = 0;
    for (std::size_t i = 0; i < order.size(); ++i) {
        carry += signature[32 + i] + static_cast<unsigned>(order[i]);
        signature[32 + i] = static_cast<std::uint8_t>(carry);
        carry >>= 8U;
    }
    EXPECT_EQ(carry, 0U);
    EXPECT_FALSE(verifies(public_key_of(key), signature, "a seal"));
}

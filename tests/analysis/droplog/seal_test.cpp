#include "analysis/droplog/seal.hpp"

#include <gtest/gtest.h>

using namespace dropledger::droplog;

namespace {

template <std::size_t n> std::array<std::uint8_t, n> raw(std::string_view hex) {
    return from_hex<n>(hex).value();
}

struct KnownSignature {
    const char* name;
    const char* secret;
    const char* open;
    std::string message;
    const char* signature;
};

// RFC 8032, section 7.1, tests 1 to 3 (from memory, and recomputed).
const KnownSignature known_signatures[] = {
    {"TEST 1", "9d61b19deffd5a60ba844af492ec2cc44449c5697b326919703bac031cae7f60",
     "d75a980182b10ab7d54bfed3c964073a0ee172f3daa62325af021a68f707511a", "",
     "e5564300c360ac729086e2cc806e828a84877f1eb8e5d974d873e065224901555fb8821590a33bacc61e39701cf9b"
     "4"
     "6bd25bf5f0595bbe24655141438e7a100b"},
    {"TEST 2", "4ccd089b28ff96da9db6c346ec114e0f5b8a319f35aba624da8cf6ed4fb8a6fb",
     "3d4017c3e843895a92b70aa74d1b7ebc9c982ccf2ec4968cc0cd55f12af4660c", "\x72",
     "92a009a9f0d4cab8720e820b5f642540a2b27b5416503f8fb3762223ebdb69da085ac1e43e15996e458f3613d0f11"
     "d"
     "8c387b2eaeb4302aeeb00d291612bb0c00"},
    {"TEST 3", "c5aa8df43f9f837bedb7442f31dcb7b166d38535076f094b85ce3a2e0b4458f7",
     "fc51cd8e6218a1a38da47ed00230f0580816ed13ba3303ac5deb911548908025", "\xaf\x82",
     "6291d657deec24024827e69c3abe01a30ce548a284743a445e3680d7db5ac3ac18ff9b538d16f290ae67f760984dc"
     "6"
     "594a7c15e9716ed28dc027beceea1ec40a"},
};

} // namespace

// FIPS 180-4 example messages (from memory, and recomputed).
TEST(Sha256, GivesTheStandardsKnownAnswers) {
    EXPECT_EQ(to_hex(sha256("abc")),
              "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad");
    EXPECT_EQ(to_hex(sha256("abcdbcdecdefdefgefghfghighijhijkijkljklmklmnlmnomnopnopq")),
              "248d6a61d20638b8e5c026930c3e6039a33ce45964ff2167f6ecedd419db06c1");
    EXPECT_EQ(to_hex(sha256("")),
              "e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855");
}

TEST(Sha256, DoesNotDependOnHowTheBytesAreFedAndBeginsAnew) {
    Digest digest;
    digest.add("a");
    digest.add("");
    digest.add("bc");
    EXPECT_EQ(digest.finish(), sha256("abc"));
    EXPECT_EQ(digest.finish(), sha256(""));
}

TEST(Ed25519, SignsAndVerifiesTheStandardsVectors) {
    for (const KnownSignature& known : known_signatures) {
        SCOPED_TRACE(known.name);
        const auto key = raw<32>(known.secret);
        EXPECT_EQ(to_hex(public_key_of(key)), known.open);
        EXPECT_EQ(to_hex(sign(key, known.message)), known.signature);
        EXPECT_TRUE(verifies(raw<32>(known.open), raw<64>(known.signature), known.message));
    }
}

TEST(Ed25519, RefusesAChangedMessageSignatureOrKey) {
    const auto key = raw<32>(known_signatures[0].secret);
    const PublicKey open = public_key_of(key);
    const Signature good = sign(key, "a seal");
    EXPECT_FALSE(verifies(open, good, "a seaL"));
    for (std::size_t i = 0; i < good.size(); ++i) {
        Signature bad = good;
        bad[i] ^= 1U;
        EXPECT_FALSE(verifies(open, bad, "a seal")) << "byte " << i;
    }
    for (std::size_t i = 0; i < open.size(); ++i) {
        PublicKey bad = open;
        bad[i] ^= 1U;
        EXPECT_FALSE(verifies(bad, good, "a seal")) << "byte " << i;
    }
}

TEST(SealChain, LinksEachBlockToTheOneBefore) {
    SealChain chain;
    chain.add("one\n");
    chain.add("two\n");
    EXPECT_EQ(chain.lines(), 2U);
    const Hash first = chain.seal();
    EXPECT_EQ(first, sha256(std::string(32, '\0') + "one\ntwo\n"));
    EXPECT_EQ(chain.lines(), 0U);
    chain.add("three\n");
    EXPECT_EQ(chain.seal(), sha256(std::string{bytes_of(first)} + "three\n"));
}

TEST(SealChain, GoesOnFromAGivenLink) {
    SealChain chain{sha256("before")};
    chain.add("x\n");
    EXPECT_EQ(chain.seal(), sha256(std::string{bytes_of(sha256("before"))} + "x\n"));
}

TEST(Hex, ReadsExactlyAsManyBytesAsAskedFor) {
    const std::string text(64, 'a');
    EXPECT_TRUE(from_hex<32>(text));
    EXPECT_FALSE(from_hex<32>(text.substr(1)));
    EXPECT_FALSE(from_hex<32>(text + "aa"));
    EXPECT_FALSE(from_hex<32>(text.substr(1) + "g"));
    EXPECT_EQ(to_hex(std::string_view{"\x00\xff\x10", 3}), "00ff10");
}

// The chain of SHA-256 seals over the lines of a log, and Ed25519 signatures over its last link.
//
// Assumes: lines are fed with their LF, byte for byte as they stand in the file.
// Source: FIPS 180-4 (SHA-256), RFC 8032 (Ed25519), both through OpenSSL.
#pragma once

#include <array>
#include <cstddef>
#include <cstdint>
#include <memory>
#include <optional>
#include <string>
#include <string_view>

namespace dropledger::droplog {

using Hash = std::array<std::uint8_t, 32>;
using PublicKey = std::array<std::uint8_t, 32>;
using PrivateKey = std::array<std::uint8_t, 32>;
using Signature = std::array<std::uint8_t, 64>;

[[nodiscard]] std::string to_hex(std::string_view bytes);
template <std::size_t n>
[[nodiscard]] std::string to_hex(const std::array<std::uint8_t, n>& bytes) {
    return to_hex(std::string_view{reinterpret_cast<const char*>(bytes.data()), n});
}
// Exactly n bytes of lower- or upper-case hex, else nothing.
template <std::size_t n>
[[nodiscard]] std::optional<std::array<std::uint8_t, n>> from_hex(std::string_view text);

[[nodiscard]] Hash sha256(std::string_view bytes);

// A running SHA-256.
class Digest {
public:
    Digest();
    ~Digest();
    Digest(Digest&&) noexcept;
    Digest& operator=(Digest&&) noexcept;

    void add(std::string_view bytes);
    [[nodiscard]] Hash finish(); // and begin anew

private:
    struct State;
    std::unique_ptr<State> state_;
};

// The links of one log: SHA-256 of the previous link followed by the lines since it.
class SealChain {
public:
    SealChain() : SealChain(Hash{}) {} // 32 zero bytes at first
    explicit SealChain(const Hash& previous);

    void add(std::string_view line_with_lf);
    [[nodiscard]] std::size_t lines() const { return lines_; } // since the last seal
    [[nodiscard]] const Hash& last() const { return last_; }
    const Hash& seal(); // closes the block and gives its link

private:
    void hash_waiting();

    Hash last_;
    Digest digest_;
    std::string waiting_; // not hashed yet
    std::size_t lines_ = 0;
};

[[nodiscard]] PublicKey public_key_of(const PrivateKey& key);
[[nodiscard]] Signature sign(const PrivateKey& key, std::string_view message);
[[nodiscard]] bool verifies(const PublicKey& key, const Signature& signature,
                            std::string_view message);
[[nodiscard]] inline std::string_view bytes_of(const Hash& hash) {
    return {reinterpret_cast<const char*>(hash.data()), hash.size()};
}

} // namespace dropledger::droplog

// What was done to a batch, in its order: a chain of signed entries that only grows.
//
// An entry is one line: {"body":BODY,"public_key":"HEX","signature":"HEX"}. BODY is in the
// canonical form (RFC 8785) and holds what was done (`kind`), when (`at`) and the SHA-256 of the
// line before it (`previous`; 64 zeros at first). The signature, Ed25519, is over BODY's bytes. So
// a line that is changed, left out, put in or moved breaks the chain, and `sha256sum` and `openssl`
// can say so.
// Assumes: who holds the key can write another chain from its first line on; the hash of the first
// line, told to others in time, is what binds him.
#pragma once

#include "analysis/base/result.hpp"
#include "analysis/droplog/seal.hpp"

#include <nlohmann/json.hpp>

#include <string>
#include <string_view>
#include <vector>

namespace dropledger::batch {

// Who writes an entry, and when (RFC 3339, UTC).
struct Signer {
    droplog::PrivateKey key{};
    std::string at;
};

struct Entry {
    std::string line; // without LF
    std::string hash; // SHA-256 of the line, hex
    std::string kind;
    std::string at;
    std::string public_key;
};

// A line by itself: canonical and signed by the key in it; whether it follows another is not asked.
struct SignedEntry {
    nlohmann::json body;
    std::string public_key;
};
[[nodiscard]] Result<SignedEntry> signed_entry(std::string_view line);

class Journal {
public:
    [[nodiscard]] const std::vector<Entry>& entries() const { return entries_; }
    [[nodiscard]] std::string head() const;    // hash of the last entry; 64 zeros where none is
    [[nodiscard]] std::string opening() const; // of the first
    [[nodiscard]] std::string last_at() const; // when the last was written; empty where none was

    // Adds `kind`, `at` and `previous` to the body. Fails where it is earlier than the last entry.
    [[nodiscard]] Status append(nlohmann::json body, const Signer& signer);
    // A line of a file: its chain and signature must hold. Gives the body.
    [[nodiscard]] Result<nlohmann::json> take(std::string_view line);

private:
    [[nodiscard]] Status check_time(const std::string& at) const;

    std::vector<Entry> entries_;
};

} // namespace dropledger::batch

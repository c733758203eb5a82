#include "tests/fuzz/reference_chain.hpp"

#include "analysis/base/text.hpp"
#include "analysis/droplog/seal.hpp"
#include "tests/fuzz/reference.hpp"

#include <openssl/evp.h>
#include <openssl/sha.h>

#include <array>
#include <optional>

namespace reference {

namespace {

std::string hex(std::string_view bytes) {
    return dropledger::droplog::to_hex(bytes);
}

std::string sha256_hex(std::string_view bytes) {
    std::array<unsigned char, SHA256_DIGEST_LENGTH> hash{};
    ::SHA256(reinterpret_cast<const unsigned char*>(bytes.data()), bytes.size(), hash.data());
    return hex({reinterpret_cast<const char*>(hash.data()), hash.size()});
}

// The bytes that lower- or upper-case hex stands for, where it is exactly `size` of them.
std::optional<std::string> bytes_of(const std::string& text, std::size_t size) {
    std::string bytes;
    for (std::size_t i = 0; i + 1 < text.size(); i += 2) {
        const auto byte = dropledger::percent_decode("%" + text.substr(i, 2));
        if (!byte || byte->size() != 1)
            return std::nullopt;
        bytes += *byte;
    }
    return text.size() == 2 * size ? std::optional{bytes} : std::nullopt;
}

} // namespace

bool signature_holds(const std::string& key_hex, const std::string& signature_hex,
                     const std::string& seal_hex) {
    const auto key = bytes_of(key_hex, 32);
    const auto signature = bytes_of(signature_hex, 64);
    const auto seal = bytes_of(seal_hex, 32);
    if (!key || !signature || !seal)
        return false;
    const auto at = [](const std::string& s) {
        return reinterpret_cast<const unsigned char*>(s.data());
    };
    EVP_PKEY* open = EVP_PKEY_new_raw_public_key(EVP_PKEY_ED25519, nullptr, at(*key), key->size());
    EVP_MD_CTX* context = EVP_MD_CTX_new();
    const bool holds =
        open != nullptr && EVP_DigestVerifyInit(context, nullptr, nullptr, nullptr, open) == 1 &&
        EVP_DigestVerify(context, at(*signature), signature->size(), at(*seal), seal->size()) == 1;
    EVP_MD_CTX_free(context);
    EVP_PKEY_free(open);
    return holds;
}

void Chain::take(const Line& line, std::string_view with_lf) {
    ++number_;
    if (line.damaged || line.name != "@seal") {
        block_ += with_lf;
        ++in_block_;
        damage_in_block_ |= line.damaged;
        return;
    }
    ++seals_.count;
    const std::string hash = sha256_hex(link_ + block_);
    if (line.fields[1] != std::to_string(in_block_) || line.fields[2] != hash)
        bad();
    link_ = bytes_of(line.fields[2], 32).value_or(*bytes_of(hash, 32));
    last_ = hex(link_);
    last_at_ = number_;
    block_.clear();
    in_block_ = 0;
    damage_in_block_ = false;
    block_start_ = number_ + 1;
}

void Chain::bad() {
    if (!seals_.intact)
        return;
    seals_.intact = false;
    seals_.first_bad_line = number_;
    seals_.first_bad_block_start = block_start_;
}

void Chain::close() {
    if (in_block_ > 1 && (seals_.count > 0 || damage_in_block_))
        bad();
}

} // namespace reference

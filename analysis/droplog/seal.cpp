#include "analysis/droplog/seal.hpp"

#include "analysis/base/result.hpp"
#include "analysis/droplog/public_key.hpp"

#include <openssl/crypto.h>
#include <openssl/evp.h>

namespace dropledger::droplog {

namespace {

int hex_value(char c) {
    if (c >= '0' && c <= '9')
        return c - '0';
    if (c >= 'a' && c <= 'f')
        return c - 'a' + 10;
    return c >= 'A' && c <= 'F' ? c - 'A' + 10 : -1;
}

constexpr std::size_t at_once = std::size_t{16} << 10U; // bytes: a call for each line costs more

const unsigned char* bytes(std::string_view text) {
    return reinterpret_cast<const unsigned char*>(text.data());
}

void require(bool done, const char* what) {
    if (!done)
        throw BrokenInvariant(std::string("the cryptographic library refused: ") + what);
}

// Without the system's configuration of the library: nothing of it is used here, and reading it
// takes longer than a short log. Once begun, it stays so.
const EVP_MD* hash_method() {
    static const bool begun = OPENSSL_init_crypto(OPENSSL_INIT_NO_LOAD_CONFIG, nullptr) == 1;
    require(begun, "to begin");
    return EVP_sha256();
}

struct FreeKey {
    void operator()(EVP_PKEY* key) const { EVP_PKEY_free(key); }
};
struct FreeContext {
    void operator()(EVP_MD_CTX* context) const { EVP_MD_CTX_free(context); }
};
using Key = std::unique_ptr<EVP_PKEY, FreeKey>;
using Context = std::unique_ptr<EVP_MD_CTX, FreeContext>;

Key private_key(const PrivateKey& raw) {
    Key key{EVP_PKEY_new_raw_private_key(EVP_PKEY_ED25519, nullptr, raw.data(), raw.size())};
    require(key != nullptr, "a private key");
    return key;
}

} // namespace

std::string to_hex(std::string_view raw) {
    constexpr std::string_view digits = "0123456789abcdef";
    std::string text;
    text.reserve(raw.size() * 2);
    for (const char c : raw) {
        const auto byte = static_cast<unsigned char>(c);
        text += digits[byte >> 4U];
        text += digits[byte & 15U];
    }
    return text;
}

template <std::size_t n>
std::optional<std::array<std::uint8_t, n>> from_hex(std::string_view text) {
    if (text.size() != 2 * n)
        return std::nullopt;
    std::array<std::uint8_t, n> raw{};
    for (std::size_t i = 0; i < n; ++i) {
        const int high = hex_value(text[2 * i]);
        const int low = hex_value(text[2 * i + 1]);
        if (high < 0 || low < 0)
            return std::nullopt;
        raw[i] = static_cast<std::uint8_t>(high * 16 + low);
    }
    return raw;
}
template std::optional<std::array<std::uint8_t, 32>> from_hex<32>(std::string_view);
template std::optional<std::array<std::uint8_t, 64>> from_hex<64>(std::string_view);

struct Digest::State {
    Context context{EVP_MD_CTX_new()};
};

Digest::Digest() : state_(std::make_unique<State>()) {
    require(EVP_DigestInit_ex(state_->context.get(), hash_method(), nullptr) == 1, "SHA-256");
}
Digest::~Digest() = default;
Digest::Digest(Digest&&) noexcept = default;
Digest& Digest::operator=(Digest&&) noexcept = default;

void Digest::add(std::string_view text) {
    require(EVP_DigestUpdate(state_->context.get(), text.data(), text.size()) == 1, "SHA-256");
}

Hash Digest::finish() {
    Hash hash{};
    require(EVP_DigestFinal_ex(state_->context.get(), hash.data(), nullptr) == 1, "SHA-256");
    require(EVP_DigestInit_ex(state_->context.get(), nullptr, nullptr) == 1, "SHA-256");
    return hash;
}

Hash sha256(std::string_view text) {
    Digest digest;
    digest.add(text);
    return digest.finish();
}

SealChain::SealChain(const Hash& previous) : last_(previous), waiting_(bytes_of(previous)) {
}

void SealChain::add(std::string_view line_with_lf) {
    waiting_ += line_with_lf;
    ++lines_;
    if (waiting_.size() >= at_once)
        hash_waiting();
}

void SealChain::hash_waiting() {
    digest_.add(waiting_);
    waiting_.clear();
}

const Hash& SealChain::seal() {
    hash_waiting();
    last_ = digest_.finish();
    lines_ = 0;
    waiting_ = bytes_of(last_);
    return last_;
}

PublicKey public_key_of(const PrivateKey& raw) {
    PublicKey key{};
    std::size_t size = key.size();
    require(EVP_PKEY_get_raw_public_key(private_key(raw).get(), key.data(), &size) == 1,
            "a public key");
    return key;
}

Signature sign(const PrivateKey& raw, std::string_view message) {
    const Key key = private_key(raw);
    const Context context{EVP_MD_CTX_new()};
    Signature signature{};
    std::size_t size = signature.size();
    require(EVP_DigestSignInit(context.get(), nullptr, nullptr, nullptr, key.get()) == 1,
            "to sign");
    require(
        EVP_DigestSign(context.get(), signature.data(), &size, bytes(message), message.size()) == 1,
        "to sign");
    return signature;
}

bool verifies(const PublicKey& raw, const Signature& signature, std::string_view message) {
    const Key key{EVP_PKEY_new_raw_public_key(EVP_PKEY_ED25519, nullptr, raw.data(), raw.size())};
    const Context context{EVP_MD_CTX_new()};
    return may_be_trusted(raw) && key != nullptr &&
           EVP_DigestVerifyInit(context.get(), nullptr, nullptr, nullptr, key.get()) == 1 &&
           EVP_DigestVerify(context.get(), signature.data(), signature.size(), bytes(message),
                            message.size()) == 1;
}

} // namespace dropledger::droplog

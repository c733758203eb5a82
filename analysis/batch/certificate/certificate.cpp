#include "analysis/batch/certificate/certificate.hpp"

#include "analysis/base/readers/canonical_json.hpp"
#include "analysis/base/readers/json_reader.hpp"
#include "analysis/batch/certificate/certificate_json.hpp"

#include <fmt/format.h>

#include <exception>

namespace dropledger::batch {

using Json = nlohmann::json;

namespace {

Result<std::string> to_be_signed(Json json) {
    json.erase("signature");
    return canonical(json);
}

} // namespace

Result<Certificate> signed_with(const droplog::PrivateKey& key, Certificate certificate) {
    certificate.public_key = droplog::to_hex(droplog::public_key_of(key));
    const auto message = to_be_signed(json_of(certificate));
    if (!message)
        return message.error();
    certificate.signature = droplog::to_hex(droplog::sign(key, *message));
    return certificate;
}

Result<std::string> to_text(const Certificate& certificate) {
    return canonical(json_of(certificate));
}

Result<Certificate> parse_certificate(std::string_view text, const std::string& where) {
    const auto refused = [&](std::string what) {
        return input_error(where, std::move(what),
                           "name a certificate that `dropledger batch certificate` wrote");
    };
    const auto found = read_json(text, where);
    if (!found)
        return refused(found.error().what);
    const Json& json = *found;
    if (json.is_object() && json.value("schema", Json()) == "dropledger/certificate/1")
        return refused("it is a certificate of the first version, which can't show that nothing "
                       "was left out: verify it with the program that issued it");
    if (!json.is_object() || json.value("schema", Json()) != certificate_schema)
        return refused(
            fmt::format("it is not a certificate of this version ({})", certificate_schema));
    try {
        return certificate_in(json);
    } catch (const BrokenInvariant&) {
        throw;
    } catch (const std::exception& problem) {
        return refused(fmt::format("it is not a whole certificate: {}", problem.what()));
    }
}

bool is_canonical(std::string_view text) {
    const auto json = read_json(text, "");
    if (!json)
        return false;
    const auto form = canonical(*json);
    return form && *form == text;
}

bool signature_holds(std::string_view text) {
    const auto found = read_json(text, "");
    if (!found)
        return false;
    const Json& json = *found;
    if (!json.is_object() || !json.contains("public_key") || !json.contains("signature") ||
        !json.at("public_key").is_string() || !json.at("signature").is_string())
        return false;
    const auto& key_text = json.at("public_key").get_ref<const std::string&>();
    const auto& signature_text = json.at("signature").get_ref<const std::string&>();
    const auto key = droplog::from_hex<32>(key_text);
    const auto signature = droplog::from_hex<64>(signature_text);
    // Capitals would be the same signature in other bytes.
    if (!key || !signature || droplog::to_hex(*signature) != signature_text)
        return false;
    const auto message = to_be_signed(json);
    return message && droplog::verifies(*key, *signature, *message);
}

} // namespace dropledger::batch

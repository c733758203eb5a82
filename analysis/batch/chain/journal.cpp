#include "analysis/batch/chain/journal.hpp"

#include "analysis/base/dates.hpp"
#include "analysis/base/readers/canonical_json.hpp"
#include "analysis/base/readers/json_reader.hpp"

#include <fmt/format.h>
#include <nlohmann/json.hpp>

namespace dropledger::batch {

using Json = nlohmann::json;

namespace {

constexpr std::string_view begin = "{\"body\":";
constexpr std::string_view key_begin = ",\"public_key\":\"";
constexpr std::string_view signature_begin = "\",\"signature\":\"";
constexpr std::string_view end = "\"}";
constexpr std::size_t key_digits = 64;
constexpr std::size_t signature_digits = 128;
constexpr std::size_t tail =
    key_begin.size() + key_digits + signature_begin.size() + signature_digits + end.size();

std::string line_of(const std::string& body, const droplog::PrivateKey& key) {
    std::string line{begin};
    line += body;
    line += key_begin;
    line += droplog::to_hex(droplog::public_key_of(key));
    line += signature_begin;
    line += droplog::to_hex(droplog::sign(key, body));
    line += end;
    return line;
}

std::string hash_of(std::string_view line) {
    return droplog::to_hex(droplog::sha256(line));
}

struct Parts {
    std::string_view body;
    std::string_view key;
    std::string_view signature;
};

std::optional<Parts> parts_of(std::string_view line) {
    if (line.size() < begin.size() + tail || !line.starts_with(begin))
        return std::nullopt;
    const std::string_view body = line.substr(begin.size(), line.size() - begin.size() - tail);
    std::string_view rest = line.substr(begin.size() + body.size());
    if (!rest.starts_with(key_begin) || !rest.ends_with(end))
        return std::nullopt;
    rest.remove_prefix(key_begin.size());
    const std::string_view key = rest.substr(0, key_digits);
    rest.remove_prefix(key_digits);
    if (!rest.starts_with(signature_begin))
        return std::nullopt;
    return Parts{body, key, rest.substr(signature_begin.size(), signature_digits)};
}

bool signature_fits(const Parts& parts) {
    const auto key = droplog::from_hex<32>(parts.key);
    const auto signature = droplog::from_hex<64>(parts.signature);
    // Capitals would be the same signature in other bytes.
    return key && signature && droplog::to_hex(*key) == parts.key &&
           droplog::to_hex(*signature) == parts.signature &&
           droplog::verifies(*key, *signature, parts.body);
}

std::string text_in(const Json& body, const char* key) {
    const auto found = body.find(key);
    return found != body.end() && found->is_string() ? found->get<std::string>() : std::string{};
}

} // namespace

std::string Journal::head() const {
    return entries_.empty() ? std::string(64, '0') : entries_.back().hash;
}

std::string Journal::opening() const {
    return entries_.empty() ? std::string(64, '0') : entries_.front().hash;
}

std::string Journal::last_at() const {
    return entries_.empty() ? std::string{} : entries_.back().at;
}

Status Journal::check_time(const std::string& at) const {
    const auto now = parse_rfc3339(at, 0);
    if (!now)
        return input_error("", fmt::format("'{}' is no time", at), "");
    if (!entries_.empty() && *now < parse_rfc3339(last_at(), 0).value_or(0.0))
        return input_error(
            "", fmt::format("{} is earlier than what was done before, {}", at, last_at()),
            "set the clock right: what was done stands in its order");
    return Done{};
}

Status Journal::append(Json body, const Signer& signer) {
    if (const Status in_order = check_time(signer.at); !in_order)
        return in_order.error();
    body["at"] = signer.at;
    body["previous"] = head();
    const auto text = canonical(body);
    if (!text)
        return text.error();
    std::string line = line_of(*text, signer.key);
    std::string hash = hash_of(line);
    entries_.push_back({std::move(line), std::move(hash), text_in(body, "kind"), signer.at,
                        droplog::to_hex(droplog::public_key_of(signer.key))});
    return Done{};
}

Result<SignedEntry> signed_entry(std::string_view line) {
    const auto refused = [&](std::string what) { return input_error("", std::move(what), ""); };
    const auto parts = parts_of(line);
    if (!parts)
        return refused("it is not an entry of a batch file");
    auto body = read_json(parts->body, "");
    if (!body || !body->is_object())
        return refused("its body is no JSON");
    const auto form = canonical(*body);
    if (!form || *form != parts->body)
        return refused("its body is not in the canonical form");
    if (!signature_fits(*parts))
        return refused("its signature does not fit what is written");
    return SignedEntry{*std::move(body), std::string{parts->key}};
}

Result<Json> Journal::take(std::string_view line) {
    const auto refused = [&](std::string what) {
        return input_error(fmt::format("entry {}", entries_.size() + 1), std::move(what),
                           "the file was changed by another hand than `dropledger batch`");
    };
    auto entry = signed_entry(line);
    if (!entry)
        return refused(entry.error().what);
    if (text_in(entry->body, "previous") != head())
        return refused("it does not follow the entry before it: one was changed, left out, put in "
                       "or moved");
    const std::string at = text_in(entry->body, "at");
    if (const Status in_order = check_time(at); !in_order)
        return refused(in_order.error().what);
    entries_.push_back({std::string{line}, hash_of(line), text_in(entry->body, "kind"), at,
                        std::move(entry->public_key)});
    return std::move(entry->body);
}

} // namespace dropledger::batch

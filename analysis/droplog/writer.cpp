#include "analysis/droplog/writer.hpp"

#include "analysis/base/result.hpp"
#include "analysis/base/text.hpp"
#include "analysis/droplog/line.hpp"

#include <fmt/format.h>

namespace dropledger::droplog {

namespace {

constexpr std::size_t room_for_text =
    longest_line - 16;                      // name, comma, check and LF of @damaged or @note
constexpr std::size_t room_for_reason = 32; // beside a key and a signature

// The text, encoded, as much of it as fits and never half an escape.
std::string encoded_to_fit(std::string_view text, std::size_t room) {
    std::string encoded = percent_encode(text);
    if (encoded.size() <= room)
        return encoded;
    const std::size_t escape = encoded.rfind('%', room - 1);
    const bool is_cut = escape != std::string::npos && escape + 3 > room;
    encoded.resize(is_cut ? escape : room);
    return encoded;
}

} // namespace

void Writer::host(std::string_view name, std::initializer_list<std::string_view> text_fields) {
    std::string body{name};
    for (const std::string_view field : text_fields) {
        body += ',';
        body += percent_encode(field);
    }
    put(encode(body));
}

void Writer::put(std::string_view line) {
    put_unsealed(line);
    chain_.add(line_);
    if (chain_.lines() >= seal_every)
        seal();
}

void Writer::put_unsealed(std::string_view line) {
    line_ = line;
    line_ += '\n';
    sink_(line_);
}

void Writer::start(std::string_view run_id, std::string_view started_rfc3339) {
    host("@droplog", {"1", run_id, started_rfc3339});
}
void Writer::set(std::string_view key, std::string_view value) {
    host("@set", {key, value});
}
void Writer::channel_set(int channel, std::string_view key, std::string_view value) {
    host("@channel", {fmt::to_string(channel), key, value});
}
void Writer::controller(std::string_view line) {
    if (!line.empty() && line.back() == '\r')
        line.remove_suffix(1);
    if (!checked_body(line))
        throw BrokenInvariant(fmt::format("not a legal line: {}", percent_encode(line)));
    put(line);
}
void Writer::sent(std::string_view line) {
    host("@sent", {line});
}
void Writer::confirmed(std::int64_t unix_us) {
    host("@confirmed", {fmt::to_string(unix_us)});
}
void Writer::at(std::uint32_t seq, std::int64_t unix_us) {
    host("@at", {fmt::to_string(seq), fmt::to_string(unix_us)});
}
void Writer::note(std::string_view text) {
    put(encode(fmt::format("@note,{}", encoded_to_fit(text, room_for_text))));
}
void Writer::damaged(std::string_view bytes) {
    put(encode(fmt::format("@damaged,{}", encoded_to_fit(bytes, room_for_text))));
}
void Writer::resumed(std::int64_t unix_us) {
    host("@resumed", {fmt::to_string(unix_us)});
}

void Writer::seal() {
    if (chain_.lines() == 0)
        return;
    const std::size_t lines = chain_.lines();
    put_unsealed(encode(fmt::format("@seal,{},{}", lines, to_hex(chain_.seal()))));
}

void Writer::close(std::string_view reason, const std::optional<PrivateKey>& key) {
    const std::string text = encoded_to_fit(reason, room_for_reason);
    put(encode(fmt::format("@ending,{}", text)));
    seal();
    std::string body = fmt::format("@close,{},", text);
    if (key)
        body += fmt::format("{},{}", to_hex(public_key_of(*key)),
                            to_hex(sign(*key, bytes_of(chain_.last()))));
    else
        body += ',';
    put_unsealed(encode(body));
}

} // namespace dropledger::droplog

// Writes a droplog: host lines are encoded here, controller lines pass through verbatim, and every
// line goes into the seal chain.
//
// Assumes: the sink takes whole lines with their LF, in order; whether and when it syncs is its own
// affair. A seal is written by itself after `seal_every` lines; the caller adds one at least every
// 10 s and the writer one before the close, over the reason for it (`@ending`).
#pragma once

#include "analysis/droplog/seal.hpp"

#include <cstdint>
#include <functional>
#include <optional>
#include <string>
#include <string_view>

namespace dropledger::droplog {

constexpr std::size_t seal_every = 1000; // lines

class Writer {
public:
    using Sink = std::function<void(std::string_view line_with_lf)>;

    explicit Writer(Sink sink) : Writer(std::move(sink), SealChain{}) {}
    // Goes on in a log whose chain so far is `chain` (lines since its last seal already added).
    Writer(Sink sink, SealChain chain) : sink_(std::move(sink)), chain_(std::move(chain)) {}

    void start(std::string_view run_id, std::string_view started_rfc3339);
    void set(std::string_view key, std::string_view value);
    void channel_set(int channel, std::string_view key, std::string_view value);
    void
    controller(std::string_view line);    // with its CRC, without LF; throws where it is not legal
    void sent(std::string_view line);     // a line to the controller, with its CRC
    void confirmed(std::int64_t unix_us); // a person confirmed the start that follows
    void at(std::uint32_t seq, std::int64_t unix_us);
    void note(std::string_view text);
    void damaged(std::string_view bytes); // as many of the bytes as a line holds
    void resumed(std::int64_t unix_us);
    void seal(); // nothing where no line came since the last seal
    void close(std::string_view reason, const std::optional<PrivateKey>& key); // reason cut to fit

    [[nodiscard]] std::size_t unsealed() const { return chain_.lines(); }

private:
    void host(std::string_view name, std::initializer_list<std::string_view> text_fields);
    void put(std::string_view line);
    void put_unsealed(std::string_view line);

    Sink sink_;
    SealChain chain_;
    std::string line_; // the latest, with its LF
};

} // namespace dropledger::droplog

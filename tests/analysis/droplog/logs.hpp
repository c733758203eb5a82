// Small logs and ways to read them, for the tests of this room.
#pragma once

#include "analysis/droplog/line.hpp"
#include "analysis/droplog/reader.hpp"
#include "analysis/droplog/writer.hpp"

#include <algorithm>
#include <cstddef>
#include <functional>
#include <optional>
#include <random>
#include <string>
#include <vector>

namespace dropledger::droplog {

using Fill = std::function<void(Writer&)>;

inline std::string written(const Fill& fill) {
    std::string log;
    Writer writer{[&](std::string_view line) { log += line; }};
    fill(writer);
    return log;
}

inline void begin_run(Writer& writer) {
    writer.start("2b7e1516-28ae-4d2a-abf7-158809cf4f3c", "2026-03-02T08:00:00Z");
    writer.set("mode", "single");
    writer.set("spacing_um", "180000");
    writer.channel_set(0, "unit", "U-1");
}

// The host's order of a run on channel 0.
inline void order(Writer& writer, std::uint32_t drops) {
    writer.sent(encode("arm,single,180000,1,250000,1," + std::to_string(drops)));
}

// A whole, healthy run: the order, hello, started, `drops` drops with a pulse each, halted.
inline std::string healthy_log(std::uint32_t drops, const std::optional<PrivateKey>& key = {}) {
    return written([&](Writer& writer) {
        begin_run(writer);
        order(writer, drops);
        std::uint32_t seq = 0;
        writer.controller(hello_line({seq++, 0}, {1, "A1", 1, "fw-1"}));
        writer.controller(state_line({seq++, 500}, "started", ""));
        writer.controller(travel_line({seq++, 1'000}, 0));
        for (std::uint32_t i = 0; i < drops; ++i) {
            const std::uint32_t tick_us = 10'000 + i * 100'000;
            writer.controller(drop_line({seq++, tick_us}, {0, i, 180'000 * std::int64_t{i}, 1}));
            writer.controller(pulse_line({seq++, tick_us + 30'000}, {0, 1, 1'500, 400}));
        }
        writer.controller(state_line({seq++, 100'000 + drops * 100'000}, "halted", "count"));
        writer.close("count", key);
    });
}

inline std::vector<std::string> lines_of(std::string_view log) {
    std::vector<std::string> lines;
    for (std::size_t at = 0; at < log.size();) {
        const std::size_t end = std::min(log.find('\n', at), log.size() - 1);
        lines.emplace_back(log.substr(at, end + 1 - at));
        at = end + 1;
    }
    return lines;
}

inline std::string joined(const std::vector<std::string>& lines) {
    std::string log;
    for (const std::string& line : lines)
        log += line;
    return log;
}

// The same body under its right CRC; for edits that know what they do.
inline std::string with_right_check(std::string_view line_with_lf) {
    return encode(line_with_lf.substr(0, line_with_lf.rfind('*'))) + "\n";
}

// Hands bytes out in pieces of seeded random size, `largest` at most.
class PiecewiseSource final : public ByteSource {
public:
    PiecewiseSource(std::string bytes, std::size_t largest, std::uint32_t seed)
        : bytes_(std::move(bytes)), largest_(largest), random_(seed) {}

    [[nodiscard]] Result<std::size_t> read(std::span<char> room) override {
        const std::size_t left = std::min(room.size(), bytes_.size() - at_);
        const std::size_t size = std::min(left, random_() % largest_ + 1);
        bytes_.copy(room.data(), size, at_);
        at_ += size;
        return size;
    }

private:
    std::string bytes_;
    std::size_t largest_;
    std::mt19937 random_;
    std::size_t at_ = 0;
};

// Everything a consumer is told, as text.
class Told final : public Consumer {
public:
    void begin(const Header& header) override { says.push_back("begin " + header.run_id); }
    void reboot() override { says.emplace_back("reboot"); }
    void take(const Event& event) override {
        says.push_back(std::to_string(event.line) + " @" + std::to_string(event.time_us) + " " +
                       std::string{event.body});
    }
    std::vector<std::string> says;
};

inline Result<Reading> check(const std::string& log) {
    StringSource source{log};
    return check_log(source, "test.droplog");
}

// Whether or not they make up a whole run.
inline bool every_line_is_there(const Integrity& found) {
    const auto flaws = found.flaws();
    return std::none_of(flaws.begin(), flaws.end(), [](const FoundFlaw& one) {
        return one.flaw == Flaw::sequence_gap || one.flaw == Flaw::lines_lost ||
               one.flaw == Flaw::out_of_order || one.flaw == Flaw::not_closed ||
               one.flaw == Flaw::torn_tail;
    });
}

inline bool is_clean(const Reading& reading) {
    const Integrity& found = reading.integrity;
    return every_line_is_there(found) && found.lines.used == found.lines.total() &&
           found.seals.count > 0 && found.seals.intact && !found.bad_signature &&
           found.differing_ending == 0;
}

} // namespace dropledger::droplog

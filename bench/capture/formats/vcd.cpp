#include "bench/capture/formats/vcd.hpp"

#include "analysis/base/text.hpp"
#include "bench/capture/formats/timescale.hpp"
#include "bench/capture/formats/vcd_signals.hpp"

#include <fmt/format.h>

#include <optional>
#include <utility>
#include <vector>

namespace dropledger::capture {

namespace {

constexpr const char* export_again = "export the capture again as a value change dump (IEEE 1364)";

class VcdReader {
public:
    VcdReader(ByteSource& source, const std::string& where, std::span<const std::string> wires,
              ChangeSink& sink)
        : tokens_(source, where), where_(where), wires_(wires), sink_(sink), levels_(wires.size()) {
    }

    Result<Extent> read() {
        if (Status head = read_head(); !head)
            return head.error();
        if (Status values = read_values(); !values)
            return values.error();
        return extent_;
    }

private:
    using Words = std::vector<std::string>;

    // Up to `$end`, which is taken too.
    Result<Words> words_to_end() {
        Words words;
        std::size_t bytes = 0;
        for (;;) {
            const auto word = tokens_.next();
            if (!word)
                return word.error();
            if (word->empty())
                return tokens_.error("a part without $end",
                                     "the file was cut off, or is no value change dump");
            if (*word == "$end")
                return words;
            if (bytes += word->size(); words.size() < most_words && bytes <= most_bytes)
                words.emplace_back(*word);
        }
    }

    Status skip_part() {
        return words_to_end().transform([](const Words&) { return Done{}; });
    }

    Status read_head() {
        for (;;) {
            const auto word = tokens_.next();
            if (!word)
                return word.error();
            if (word->empty() || word->front() != '$')
                return tokens_.error(
                    word->empty()
                        ? std::string{"ends before $enddefinitions"}
                        : fmt::format("`{:.40}` where a part such as $var was expected", *word),
                    export_again);
            const std::string part(*word);
            if (part == "$enddefinitions")
                return skip_part().and_then([this](Done) { return wire_up(); });
            const auto words = words_to_end();
            if (!words)
                return words.error();
            if (Status taken = take_part(part, *words); !taken)
                return taken;
        }
    }

    Status take_part(const std::string& part, const Words& words) {
        if (part == "$scope" && words.size() >= 2)
            return signals_.enter(words[1], tokens_);
        if (part == "$var")
            return signals_.declare(words, tokens_);
        if (part == "$timescale")
            return take_timescale(words);
        if (part == "$upscope")
            signals_.leave();
        return Done{};
    }

    Status take_timescale(const Words& words) {
        std::string text;
        for (const std::string& word : words)
            text += word;
        scale_ = Timescale::of(text);
        if (scale_)
            return Done{};
        return tokens_.error(fmt::format("`{}` is no time scale", text),
                             "it is 1, 10 or 100 of s, ms, us, ns, ps or fs");
    }

    Status wire_up() {
        if (!scale_)
            return tokens_.error("has no $timescale, so its times mean nothing", export_again);
        return signals_.taps(wires_, where_).and_then([this](auto taps) -> Status {
            taps_ = std::move(taps);
            return Done{};
        });
    }

    Status read_values() {
        for (;;) {
            const auto word = tokens_.next();
            if (!word)
                return word.error();
            if (word->empty())
                return timed_ ? Status(Done{})
                              : tokens_.error("has no time stamp, so nothing was captured",
                                              "capture again");
            if (Status taken = take_value(*word); !taken)
                return taken;
        }
    }

    Status take_value(std::string_view word) {
        switch (word.front()) {
        case '#':
            return take_time(word.substr(1));
        case '0':
        case '1':
        case 'x':
        case 'X':
        case 'z':
        case 'Z':
            return take_bits(word.substr(1), word.substr(0, 1));
        case 'b':
        case 'B':
            return take_vector(std::string(word.substr(1)));
        case 'r':
        case 'R':
        case 's':
        case 'S':
            return take_other();
        case '$':
            return take_keyword(word);
        default:
            return tokens_.error(fmt::format("`{:.40}` is neither a time nor a value", word),
                                 export_again);
        }
    }

    Status take_keyword(std::string_view word) {
        if (word == "$comment")
            return skip_part();
        if (word == "$dumpoff")
            return tokens_.error(
                "the capture was switched off here ($dumpoff)",
                "what happened meanwhile is not in it: capture the run as a whole");
        return Done{}; // $dumpvars, $dumpon, $dumpall, $end: plain values stand between them
    }

    Status take_time(std::string_view text) {
        const auto count = parse_uint(text);
        const auto at_ps = count ? scale_->ps_of(*count) : std::nullopt;
        if (!at_ps)
            return tokens_.error(fmt::format("`#{:.40}` is no time within 7 days", text),
                                 export_again);
        if (timed_ && *at_ps < extent_.last_ps)
            return tokens_.error(fmt::format("time goes back to #{}", text),
                                 "captures may not be put behind each other: take one at a time");
        if (!std::exchange(timed_, true))
            extent_.first_ps = *at_ps;
        extent_.last_ps = *at_ps;
        return sink_.until(*at_ps);
    }

    Status take_vector(const std::string& bits) {
        const auto code = tokens_.next();
        if (!code)
            return code.error();
        return take_bits(*code, bits);
    }

    // An analog value, or a text.
    Status take_other() {
        const auto code = tokens_.next();
        if (!code)
            return code.error();
        if (taps_.contains(*code))
            return tokens_.error("a wired signal has a value that is no level",
                                 "capture its level (a logic channel), not its voltage");
        return Done{};
    }

    Status take_bits(std::string_view code, std::string_view bits) {
        const auto found = taps_.find(code);
        if (found == taps_.end())
            return Done{};
        for (const Tap& tap : found->second)
            if (Status taken = take_level(tap.wire, bit_at(bits, tap.bit)); !taken)
                return taken;
        return Done{};
    }

    // A value that is written short goes on to the left with 0, or with its x or z.
    static char bit_at(std::string_view bits, std::size_t from_right) {
        if (from_right < bits.size())
            return bits[bits.size() - 1 - from_right];
        return bits.empty() || bits.front() == '1' ? '0' : bits.front();
    }

    Status take_level(std::size_t wire, char bit) {
        std::optional<bool>& level = levels_[wire];
        if (bit != '0' && bit != '1') {
            if (!level)
                return Done{}; // not known yet
            return tokens_.error(
                fmt::format("`{}` is {} here: neither high nor low", wires_[wire], bit),
                "see to the probe and its ground; a level that nobody knows is no evidence");
        }
        const bool high = bit == '1';
        if (level == high)
            return Done{};
        level = high;
        ++extent_.changes;
        return sink_.change({.at_ps = extent_.last_ps, .wire = wire, .high = high});
    }

    static constexpr std::size_t most_words = 4096;   // of one part; the rest is passed over,
    static constexpr std::size_t most_bytes = 65'536; // and so is what is longer

    Tokens tokens_;
    std::string where_;
    std::span<const std::string> wires_;
    ChangeSink& sink_;
    VcdSignals signals_;
    std::optional<Timescale> scale_;
    Taps taps_;
    std::vector<std::optional<bool>> levels_;
    Extent extent_;
    bool timed_ = false;
};

} // namespace

Result<Extent> read_vcd(ByteSource& source, const std::string& where,
                        std::span<const std::string> wires, ChangeSink& sink) {
    return VcdReader(source, where, wires, sink).read();
}

} // namespace dropledger::capture

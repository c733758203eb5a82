// A logic analyser's capture, dump or table, by three wirings: an encoder, pulses, a stated speed.
//
// Each is read twice, whole and in pieces of a few bytes: the same log, or the same refusal. A log that
// was written is read back: nothing damaged, whole, sealed, with the drops and pulses that were counted.
#include "analysis/droplog/reader.hpp"
#include "bench/capture/capture.hpp"
#include "tests/fuzz/target.hpp"

#include <algorithm>
#include <array>
#include <memory>
#include <optional>

using namespace dropledger;
using namespace dropledger::capture;

namespace {

constexpr std::size_t most_log = 1U
                                 << 20; // a few changes, days apart, make a long log: no more of it

struct LongEnough {};

const std::string channel = "[[channel]]\nchannel = 0\ncommand = \"V\"\ncommand_glitch_us = 3\n"
                            "gate0 = \"G\"\ngate0_dark = \"high\"\ngate0_glitch_us = 2\n"
                            "gate1 = \"bus[1]\"\ngate1_dark = \"low\"\n";
const std::array<std::string, 3> wirings{
    "[travel]\na = \"A\"\nb = \"B\"\nmm_per_count = -0.5\n" + channel,
    "[travel]\npulses = \"A\"\nmm_per_pulse = 10.0\n[capture]\nsample_rate_hz = 1000\n"
    "shortest_dark_us = 50000\n" +
        channel,
    "[travel]\nspeed_mps = 0.5\n" + channel};

class InPieces final : public ByteSource {
public:
    InPieces(std::string bytes, std::size_t piece) : bytes_(std::move(bytes)), piece_(piece) {}

    Result<std::size_t> read(std::span<char> room) override {
        const std::size_t size = std::min({room.size(), piece_, bytes_.size() - at_});
        std::copy_n(bytes_.begin() + static_cast<std::ptrdiff_t>(at_), size, room.begin());
        at_ += size;
        return size;
    }

private:
    std::string bytes_;
    std::size_t piece_;
    std::size_t at_ = 0;
};

struct Outcome {
    std::optional<Captured> captured;
    std::string log;
    std::string refusal;
};

// Nothing where the log grows too long to be looked at.
std::optional<Outcome> convert(const std::string& bytes, std::size_t piece,
                               const std::string& wiring) {
    Outcome outcome;
    Request request{.open = [&]() -> Result<std::unique_ptr<ByteSource>> {
                        return std::unique_ptr<ByteSource>(
                            std::make_unique<InPieces>(bytes, piece));
                    },
                    .where = "run",
                    .wiring = parse_wiring(wiring, "wiring.toml").value(),
                    .wiring_text = wiring,
                    .head = {},
                    .counted = {},
                    .key = std::nullopt,
                    .sink =
                        [&](std::string_view line) {
                            if (outcome.log.size() > most_log)
                                throw LongEnough{};
                            outcome.log += line;
                        }};
    request.head.started = "2026-03-20T08:00:00Z";
    request.head.run = {
        {"mode", "single"}, {"spacing_um", "100000"}, {"count", "1"}, {"speed_um_s", "500000"}};
    request.head.channels[0] = {{"unit", "SU-0201"}, {"lead_us", "40000"}};
    try {
        const auto captured = capture_to_log(request);
        if (captured)
            outcome.captured = *captured;
        else
            outcome.refusal = captured.error().message();
    } catch (const LongEnough&) {
        return std::nullopt;
    }
    return outcome;
}

struct Count final : droplog::Consumer {
    void begin(const droplog::Header& /*header*/) override {}
    void reboot() override { fuzz::require(false, "a capture is one boot"); }
    void take(const droplog::Event& event) override {
        fuzz::require(event.time_us >= last_us, "time goes on");
        last_us = event.time_us;
        drops += event.body.starts_with("drop,") ? 1U : 0U;
        pulses += event.body.starts_with("pulse,") ? 1U : 0U;
    }

    std::int64_t last_us = 0;
    std::uint64_t drops = 0;
    std::uint64_t pulses = 0;
};

void require_readable(const Outcome& outcome) {
    StringSource source(outcome.log);
    Count count;
    const auto read = droplog::read_log(source, "run.droplog", count, 1);
    fuzz::require(static_cast<bool>(read), "a log that was written is read");
    const droplog::Integrity& integrity = read->integrity;
    fuzz::require(integrity.lines.used == integrity.lines.total(), "each line is used");
    fuzz::require(integrity.seals.intact && integrity.close_reason == "captured",
                  "it is sealed and closed");
    fuzz::require(integrity.missing_lines == 0 && integrity.boots == 1, "no line is missing");
    const ChannelCounts counts = outcome.captured->counts.channels.at(0);
    fuzz::require(count.drops == counts.drops, "each command is a drop line");
    fuzz::require(count.pulses == counts.pulses[0] + counts.pulses[1], "each beam a pulse line");
    fuzz::require(count.drops + count.pulses <= outcome.captured->extent.changes,
                  "nothing happens without a change");
}

} // namespace

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* bytes, std::size_t size) {
    const std::string text = fuzz::text_of(bytes, size);
    for (const std::string& wiring : wirings) {
        const auto whole = convert(text, text.size() + 1, wiring);
        const auto pieces = convert(text, 3, wiring);
        fuzz::require(whole.has_value() == pieces.has_value(), "pieces make no difference");
        if (!whole)
            continue;
        fuzz::require(whole->log == pieces->log && whole->refusal == pieces->refusal,
                      "pieces make no difference");
        if (whole->captured)
            require_readable(*whole);
        else
            fuzz::require(!whole->refusal.empty(), "a refusal says why");
    }
    return 0;
}

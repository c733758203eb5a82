// What a host, or noise, may send to the core of the controller's firmware.
//
// `~` at a line's end becomes its check (expand.hpp); a line that begins with a digit lets as many
// tenths of a second pass; a line of one of the letters below switches something at the bench.
#include "analysis/base/text.hpp"
#include "analysis/droplog/line.hpp"
#include "tests/bench/controller/small_bench.hpp"
#include "tests/fuzz/expand.hpp"
#include "tests/fuzz/target.hpp"

#include <map>

using namespace dropledger;
using controller::SmallBench;

namespace {

constexpr std::uint32_t tenth_us = 100000;
constexpr std::int64_t most_tenths = 300;

// What came out so far: legal lines, every SEQ its own bytes, motors only after `go`.
class Outcome {
public:
    void take(SmallBench& bench) {
        for (const std::string& line : bench.take_lines()) {
            const auto record = droplog::decode(line);
            fuzz::require(record.from_controller(), "a line of the format: " + line);
            const auto known = seen_.emplace(record.seq, line);
            fuzz::require(known.second || known.first->second == line,
                          "one SEQ, one line: " + line);
        }
        fuzz::require(gone_ || !bench.controller().outputs().drive, "motors without `go`");
        fuzz::require(bench.controller().outputs().valves == 0 || !bench.controller().is_idle(),
                      "a valve open in idle");
        const auto& buffer = bench.controller().buffer();
        fuzz::require(buffer.backlog() + buffer.lost() <= buffer.next_seq(), "lines add up");
    }
    void heard(std::string_view line) { gone_ = gone_ || line.starts_with("go*"); }

private:
    std::map<std::uint32_t, std::string> seen_;
    bool gone_ = false;
};

bool switched(std::string_view line, SmallBench& bench) {
    if (line == "E" || line == "e")
        bench.estop = line == "E";
    else if (line == "G" || line == "g")
        bench.guard = line == "G";
    else if (line == "B" || line == "b")
        bench.blocked = line == "B" ? 0x8101 : 0;
    else if (line == "S" || line == "s")
        bench.belt_slips = line == "S";
    else
        return false;
    return true;
}

} // namespace

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* bytes, std::size_t size) {
    const std::string wire = reference::expanded(fuzz::text_of(bytes, size));
    SmallBench bench(600);
    Outcome outcome;
    std::int64_t tenths_left = most_tenths;
    for (const std::string_view line : split(wire, '\n')) {
        if (switched(line, bench))
            continue;
        const auto tenths = std::min<std::int64_t>(parse_int(line).value_or(0), tenths_left);
        if (tenths <= 0) {
            outcome.heard(line);
            bench.hear(line);
            bench.hear("\n");
        }
        tenths_left -= std::max<std::int64_t>(tenths, 0);
        for (auto left = tenths; left > 0; --left) {
            bench.advance(tenth_us);
            outcome.take(bench);
        }
        outcome.take(bench);
    }
    return 0;
}

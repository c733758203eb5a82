// What a host, or noise, may send to the virtual controller.
//
// `~` at a line's end becomes its check (expand.hpp); a line that begins with a digit lets as many
// tenths of a second pass.
#include "analysis/base/text.hpp"
#include "analysis/droplog/line.hpp"
#include "bench/virtual/controller.hpp"
#include "tests/fuzz/expand.hpp"
#include "tests/fuzz/target.hpp"

#include <map>

using namespace dropledger;
using namespace dropledger::bench_virtual;

namespace {

constexpr std::int64_t tenth_us = 100'000;
constexpr std::int64_t most_tenths = 600;

Scenario small_bench() {
    Scenario scenario;
    scenario.firmware = "fuzz";
    scenario.channels.emplace_back();
    return scenario;
}

// What came out so far: every SEQ its own bytes, motors only by `go`.
class Outcome {
public:
    void take(const std::vector<std::string>& lines) {
        for (const std::string& line : lines) {
            const auto record = droplog::decode(line);
            fuzz::require(record.from_controller(), "a line of the format: " + line);
            const auto known = seen_.emplace(record.seq, line);
            fuzz::require(known.second || known.first->second == line,
                          "one SEQ, one line: " + line);
            if (known.second && record.name == droplog::LineName::started)
                fuzz::require(gone_, "`started` without `go`");
        }
    }
    void heard(std::string_view line) { gone_ = gone_ || line.starts_with("go*"); }

private:
    std::map<std::uint32_t, std::string> seen_;
    bool gone_ = false;
};

} // namespace

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* bytes, std::size_t size) {
    const std::string wire = reference::expanded(fuzz::text_of(bytes, size));
    static const Scenario scenario = small_bench();
    Now now;
    Controller controller{scenario, now};
    Outcome outcome;
    std::int64_t tenths_left = most_tenths;
    for (const std::string_view line : split(wire, '\n')) {
        const auto tenths = std::min<std::int64_t>(parse_int(line).value_or(0), tenths_left);
        if (tenths > 0) {
            tenths_left -= tenths;
            now.bench_us += tenths * tenth_us;
            now.host_us += tenths * tenth_us;
            controller.advance(now);
        } else {
            outcome.heard(line);
            controller.receive(line, now);
        }
        outcome.take(controller.take_lines());
    }
    return 0;
}

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

constexpr std::int64_t step_us = 10'000;
constexpr std::int64_t steps_of_a_tenth = 10;
constexpr std::int64_t most_tenths = 600;
constexpr std::size_t most_lines = 20'000; // an order for thousands of seeds a second makes many

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
    [[nodiscard]] bool is_full() const { return seen_.size() > most_lines; }
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
        if (tenths <= 0) {
            outcome.heard(line);
            controller.receive(line, now);
            outcome.take(controller.take_lines());
        }
        tenths_left -= std::max<std::int64_t>(tenths, 0);
        for (auto step = tenths * steps_of_a_tenth; step > 0 && !outcome.is_full(); --step) {
            now.bench_us += step_us;
            now.host_us += step_us;
            controller.advance(now);
            outcome.take(controller.take_lines());
        }
    }
    return 0;
}

// One line, decoded, against the plain reference.
#include "analysis/base/text.hpp"
#include "analysis/droplog/line.hpp"
#include "tests/fuzz/expand.hpp"
#include "tests/fuzz/reference.hpp"

#include <cstddef>
#include <cstdint>
#include <cstdio>
#include <cstdlib>

namespace {

using namespace dropledger::droplog;

void require(bool holds, const char* what, const std::string& line) {
    if (holds)
        return;
    std::fprintf(stderr, "%s: %s\n", what, line.c_str());
    std::abort();
}

bool equals(std::int64_t found, const std::string& field) {
    return dropledger::parse_int(field) == found;
}

void compare_numbers(const Record& found, const reference::Line& expected,
                     const std::string& line) {
    const auto& fields = expected.fields;
    if (found.name == LineName::drop)
        require(equals(found.channel, fields[3]) && equals(found.index, fields[4]) &&
                    equals(found.position_um, fields[5]) && equals(found.count, fields[6]),
                "a number of drop", line);
    if (found.name == LineName::pulse)
        require(equals(found.channel, fields[3]) && equals(found.gate, fields[4]) &&
                    equals(found.width_us, fields[5]) && equals(found.depth_milli, fields[6]),
                "a number of pulse", line);
    if (found.name == LineName::travel)
        require(equals(found.position_um, fields[3]), "the position", line);
}

} // namespace

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* bytes, std::size_t size) {
    const std::string line = reference::expanded({reinterpret_cast<const char*>(bytes), size});
    const Record found = decode(line);
    const reference::Line expected = reference::line(line);
    require((found.name == LineName::damaged) == expected.damaged, "damaged or not", line);
    require(checked_body(line).has_value() == !expected.fields.empty(), "the check", line);
    if (expected.damaged)
        return 0;
    require(found.from_controller() == expected.counts_in_seq, "from the controller or not", line);
    const bool unknown =
        found.name == LineName::unknown || found.name == LineName::unknown_controller;
    require(unknown == !expected.known, "known or not", line);
    if (expected.counts_in_seq)
        require(found.seq == expected.seq && found.tick_us == expected.tick_us, "SEQ, TICK", line);
    compare_numbers(found, expected, line);
    require(encode(*checked_body(line)) == line.substr(0, line.find('\r')), "encoded again", line);
    return 0;
}

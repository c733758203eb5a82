// The streaming reader against the plain reference, and against itself with the bytes in small
// pieces.
#include "analysis/droplog/reader.hpp"
#include "tests/analysis/droplog/logs.hpp"
#include "tests/fuzz/expand.hpp"
#include "tests/fuzz/reference.hpp"

#include <cstddef>
#include <cstdint>
#include <cstdio>
#include <cstdlib>

namespace {

using namespace dropledger;
using namespace dropledger::droplog;

struct Said {
    std::string integrity;
    std::vector<std::string> events;
};

Said said(const std::string& log, std::size_t largest_piece) {
    PiecewiseSource source{log, largest_piece, 1};
    Told told;
    const auto reading = read_log(source, "fuzz", told);
    return {reading ? reference::described(reading->integrity) : "refused", told.says};
}

void must_equal(const std::string& found, const std::string& expected) {
    if (found == expected)
        return;
    std::fprintf(stderr, "found:\n%s\nexpected:\n%s\n", found.c_str(), expected.c_str());
    std::abort();
}

} // namespace

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* bytes, std::size_t size) {
    const std::string log = reference::expanded({reinterpret_cast<const char*>(bytes), size});
    const auto expected = reference::integrity(log);
    const Said whole = said(log, log.size() + 1);
    must_equal(whole.integrity, expected ? reference::described(*expected) : "refused");
    const Said pieces = said(log, size % 37 + 1);
    must_equal(pieces.integrity, whole.integrity);
    must_equal(joined(pieces.events), joined(whole.events));
    return 0;
}

// The streaming reader against the plain reference, and against itself with the bytes in small pieces.
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

std::string said(const std::string& log, std::size_t largest_piece) {
    PiecewiseSource source{log, largest_piece, 1};
    Told told;
    const auto reading = read_log(source, "fuzz", told);
    std::string all = reading ? reference::described(reading->integrity) : "refused";
    for (const std::string& line : told.says)
        all += "\n" + line;
    return all;
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
    const auto reading = check(log);
    must_equal(reading ? reference::described(reading->integrity) : "refused",
               expected ? reference::described(*expected) : "refused");
    must_equal(said(log, size % 37 + 1), said(log, log.size() + 1));
    return 0;
}

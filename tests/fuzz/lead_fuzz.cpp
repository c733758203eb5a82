// Mean placement errors at several speeds, and the valve's lag from them.
#include "calibration/lead/lead.hpp"
#include "tests/fuzz/target.hpp"

#include <cmath>

using namespace dropledger::calibration;

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* bytes, std::size_t size) {
    const auto runs = read_lead_runs(fuzz::text_of(bytes, size), "lead.csv");
    if (!runs)
        return 0;
    const auto found = lead(*runs, {});
    if (found)
        fuzz::require(std::isfinite(found->lag_us.value), "a lag that is a number");
    return 0;
}

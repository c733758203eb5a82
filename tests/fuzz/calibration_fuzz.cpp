// A calibration record: what was read is written again, and reads the same.
#include "calibration/record/record.hpp"
#include "tests/fuzz/target.hpp"

using namespace dropledger::calibration;

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* bytes, std::size_t size) {
    const auto record = parse_record(fuzz::text_of(bytes, size), "record.toml");
    if (!record)
        return 0;
    const std::string written = to_toml(*record);
    const auto again = parse_record(written, "written.toml");
    fuzz::require(static_cast<bool>(again), "a record that was written can be read:\n" + written);
    fuzz::require(to_toml(*again) == written, "written again, it is the same:\n" + written);
    return 0;
}

// A tolerance profile.
#include "analysis/verdict/profile.hpp"
#include "tests/fuzz/target.hpp"

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* bytes, std::size_t size) {
    const auto read =
        dropledger::verdict::parse_profile(fuzz::text_of(bytes, size), "profile.toml");
    if (!read)
        fuzz::require(!read.error().message().empty(), "a refusal says why");
    return 0;
}

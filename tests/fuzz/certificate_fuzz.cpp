// A certificate: one whose signature holds is canonical, and written again it is the same bytes.
#include "analysis/batch/certificate/certificate.hpp"
#include "tests/fuzz/target.hpp"

using namespace dropledger::batch;

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* bytes, std::size_t size) {
    const std::string text = fuzz::text_of(bytes, size);
    const auto certificate = parse_certificate(text, "some.certificate.json");
    const bool canonical = is_canonical(text);
    const bool holds = signature_holds(text);
    if (!certificate || !canonical || !holds)
        return 0;
    const auto written = to_text(*certificate);
    fuzz::require(static_cast<bool>(written), "a signed certificate can be written");
    fuzz::require(*written == text, "written again, it is the same:\n" + *written);
    return 0;
}

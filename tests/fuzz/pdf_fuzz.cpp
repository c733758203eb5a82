// A certificate's PDF: the JSON attached to it, taken out without trusting a byte.
#include "analysis/batch/certificate/certificate.hpp"
#include "analysis/report/pdf/pages.hpp"
#include "tests/fuzz/target.hpp"

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* bytes, std::size_t size) {
    const std::string pdf = fuzz::text_of(bytes, size);
    const auto found = dropledger::report::certificate::taken_apart(pdf);
    if (!found)
        return 0;
    fuzz::require(pdf.find(found->json) != std::string::npos,
                  "what is attached stands in the file");
    static_cast<void>(dropledger::batch::parse_certificate(found->json, "attached"));
    return 0;
}

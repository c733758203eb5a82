// A certificate's PDF: the JSON attached to it, taken out without trusting a byte.
#include "analysis/batch/certificate.hpp"
#include "analysis/report/pdf/pages.hpp"
#include "tests/fuzz/target.hpp"

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* bytes, std::size_t size) {
    const std::string pdf = fuzz::text_of(bytes, size);
    const auto json = dropledger::report::certificate::attached_json(pdf);
    if (!json)
        return 0;
    fuzz::require(pdf.find(*json) != std::string::npos, "what is attached stands in the file");
    static_cast<void>(dropledger::batch::parse_certificate(*json, "attached"));
    return 0;
}

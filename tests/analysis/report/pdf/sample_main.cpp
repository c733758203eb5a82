// Writes the signed sample certificate of so many units to standard output.
#include "sample.hpp"

#include <fmt/format.h>

#include <string>

int main(int argc, char** argv) {
    using namespace dropledger;
    const int tested = argc > 1 ? std::stoi(argv[1]) : 50;
    const auto certificate =
        report::certificate::signed_sample(report::certificate::sample_certificate(tested));
    fmt::print("{}", *batch::to_text(certificate));
    return 0;
}

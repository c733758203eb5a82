#include "analysis/droplog/run_id.hpp"

#include "analysis/droplog/seal.hpp"

#include <fmt/format.h>

namespace dropledger::droplog {

std::string run_id_of(std::string_view text) {
    const std::string hex = to_hex(sha256(text));
    return fmt::format("{}-{}-8{}-a{}-{}", hex.substr(0, 8), hex.substr(8, 4), hex.substr(12, 3),
                       hex.substr(15, 3), hex.substr(18, 12));
}

} // namespace dropledger::droplog

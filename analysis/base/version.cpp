#include "analysis/base/version.hpp"

namespace dropledger {

std::string_view version() {
    return DROPLEDGER_VERSION;
}

std::string_view program_and_version() {
    return "dropledger " DROPLEDGER_VERSION;
}

} // namespace dropledger

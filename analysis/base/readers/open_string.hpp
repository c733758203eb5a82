// A string in the place of a file that is opened as often as it is read.
#pragma once

#include "analysis/base/readers/byte_source.hpp"

#include <memory>
#include <string>
#include <utility>

namespace dropledger {

[[nodiscard]] inline OpenBytes open_string(std::string bytes) {
    return [bytes = std::move(bytes)]() -> Result<std::unique_ptr<ByteSource>> {
        return std::unique_ptr<ByteSource>(std::make_unique<StringSource>(bytes));
    };
}

} // namespace dropledger

#include "analysis/base/readers/byte_source.hpp"

#include <fmt/format.h>

namespace dropledger {

Result<std::string> read_whole(ByteSource& source, std::size_t most) {
    constexpr std::size_t piece = 65536;
    std::string text;
    for (;;) {
        const std::size_t before = text.size();
        text.resize(before + piece);
        const auto got = source.read({text.data() + before, piece});
        if (!got)
            return got.error();
        text.resize(before + *got);
        if (*got == 0)
            return text;
        if (text.size() > most)
            return input_error("", fmt::format("over {} bytes, more than is read", most),
                               "cut it into parts");
    }
}

} // namespace dropledger

#include "bench/io/file_head.hpp"

#include "bench/io/file_source.hpp"

#include <span>

namespace dropledger::files {

Result<std::string> head_of(const std::string& file, std::size_t most) {
    const auto source = open_file(file)();
    if (!source)
        return source.error();
    std::string head(most, '\0');
    std::size_t filled = 0;
    while (filled < head.size()) {
        const auto got = (*source)->read(std::span(head).subspan(filled));
        if (!got)
            return got.error();
        if (*got == 0)
            break;
        filled += *got;
    }
    head.resize(filled);
    return head;
}

} // namespace dropledger::files

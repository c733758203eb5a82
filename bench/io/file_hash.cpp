#include "bench/io/file_hash.hpp"

#include "analysis/droplog/seal.hpp"
#include "bench/io/file_source.hpp"

#include <vector>

namespace dropledger::files {

Result<std::string> hash_of(const std::string& file) {
    const auto source = open_file(file)();
    if (!source)
        return source.error();
    droplog::Digest digest;
    std::vector<char> room(std::size_t{1} << 16U);
    while (true) {
        const auto size = (*source)->read(room);
        if (!size)
            return size.error();
        if (*size == 0)
            return droplog::to_hex(digest.finish());
        digest.add({room.data(), *size});
    }
}

} // namespace dropledger::files

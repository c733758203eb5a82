#include "bench/io/write_fully.hpp"

#include <unistd.h>

#include <cerrno>

namespace dropledger::files {

int write_fully(int descriptor, std::string_view bytes) {
    while (!bytes.empty()) {
        const auto put = ::write(descriptor, bytes.data(), bytes.size());
        if (put < 0 && errno == EINTR)
            continue;
        if (put < 0)
            return errno;
        bytes.remove_prefix(static_cast<std::size_t>(put));
    }
    return 0;
}

} // namespace dropledger::files

#include "bench/link/transport.hpp"

#include "bench/link/pty.hpp"
#include "bench/link/serial.hpp"

#include <fmt/format.h>

#include <filesystem>

namespace dropledger::link {

Result<std::unique_ptr<Transport>> open_transport(const std::string& path, int baud) {
    std::error_code problem;
    const std::string device = std::filesystem::canonical(path, problem).string();
    if (problem)
        return device_error(path, fmt::format("no such port ({})", problem.message()),
                            "see the ports with `dropledger run --list-ports`");
    return device.starts_with("/dev/pts/") ? open_pty(device) : open_serial(device, baud);
}

} // namespace dropledger::link

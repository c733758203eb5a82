#include "bench/commands/run/job/run_logs.hpp"

#include "analysis/droplog/line.hpp"

#include <algorithm>
#include <fstream>

namespace dropledger::cli {

bool is_closed(const std::string& log) {
    constexpr std::streamoff enough = 4096; // the last line is far shorter
    std::ifstream file(log, std::ios::binary | std::ios::ate);
    const std::streamoff size = file.tellg();
    if (!file || size <= 0)
        return false;
    file.seekg(std::max<std::streamoff>(0, size - enough));
    std::string end(static_cast<std::size_t>(std::min(size, enough)), '\0');
    file.read(end.data(), static_cast<std::streamsize>(end.size()));
    if (!file || end.back() != '\n')
        return false;
    end.pop_back();
    const std::string last = end.substr(end.rfind('\n') + 1);
    return droplog::decode(last).name == droplog::LineName::host_close;
}

} // namespace dropledger::cli

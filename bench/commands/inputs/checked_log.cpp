#include "bench/commands/inputs/checked_log.hpp"

#include "bench/io/file_source.hpp"

namespace dropledger::cli {

Result<droplog::Reading> read_checked(const std::string& file) {
    const auto source = files::open_file(file)();
    if (!source)
        return source.error();
    return droplog::check_log(**source, file == "-" ? "standard input" : file);
}

} // namespace dropledger::cli

#include "bench/commands/shell/standard.hpp"

#include "bench/io/descriptor.hpp"
#include "bench/io/write_fully.hpp"

#include <fcntl.h>
#include <unistd.h>

#include <csignal>

namespace dropledger::cli {

Status write_standard_output(std::string_view bytes) {
    const int problem = files::write_fully(STDOUT_FILENO, bytes);
    return problem == 0 ? Status{Done{}} : files::system_error("standard output", "write", problem);
}

void write_standard_error(std::string_view bytes) {
    static_cast<void>(files::write_fully(STDERR_FILENO, bytes));
}

void prepare_standard_files() {
    static_cast<void>(std::signal(SIGPIPE, SIG_IGN));
    // Opened the other way round, so that using them still fails.
    for (const auto& [number, way] :
         {std::pair{STDIN_FILENO, O_WRONLY}, std::pair{STDOUT_FILENO, O_RDONLY},
          std::pair{STDERR_FILENO, O_RDONLY}})
        if (::fcntl(number, F_GETFD) < 0)
            static_cast<void>(::open("/dev/null", way)); // takes the lowest number that is free
}

} // namespace dropledger::cli

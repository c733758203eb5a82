#include "bench/commands/serve/serve.hpp"

#include "bench/commands/run/job/interrupts.hpp"
#include "bench/commands/shell/deliver.hpp"
#include "bench/commands/shell/standard.hpp"
#include "bench/commands/shell/usage.hpp"
#include "bench/station/station.hpp"

#include <fmt/format.h>

#include <filesystem>
#include <memory>

#include <spawn.h>
#include <sys/wait.h>
#include <unistd.h>

namespace dropledger::cli {

namespace {

struct Options {
    std::string folder = ".";
    std::optional<std::string> book;
    std::optional<std::string> port;
    std::int64_t listen = 0;
    bool open = false;
};

// Where that fails the address stands on the terminal all the same.
void open_browser(std::string address) {
    std::string program = "xdg-open";
    std::array<char*, 3> words{program.data(), address.data(), nullptr};
    pid_t process = -1;
    if (::posix_spawnp(&process, program.c_str(), nullptr, nullptr, words.data(), environ) != 0)
        return tell("no browser could be opened: xdg-open is not there\n");
    int status = 0;
    if (::waitpid(process, &status, 0) != process || status != 0)
        tell("no browser could be opened; open the address yourself\n");
}

Result<int> serve(const Options& options) {
    constexpr std::int64_t highest_port = 65535;
    if (options.listen < 0 || options.listen > highest_port)
        return usage("--listen", fmt::format("{} is no port", options.listen),
                     "give 1024 to 65535, or leave it out: any that is free");
    std::error_code problem;
    if (!std::filesystem::is_directory(options.folder, problem))
        return usage("--folder", fmt::format("{} is no folder", options.folder),
                     "name the folder in which the logs are");
    heed_signals();
    const station::StationHooks hooks{
        .ready =
            [&](const std::string& address) {
                const Status told = write_standard_output(address + "\n");
                tell("Open this address in a browser on this machine. Ctrl-C ends the station{}\n",
                     told ? "." : "; the address could not be printed.");
                if (options.open)
                    open_browser(address);
            },
        .interrupts = interrupts_so_far};
    const Status served = station::serve({.folder = options.folder,
                                          .book = options.book,
                                          .port = options.port,
                                          .listen = static_cast<std::uint16_t>(options.listen)},
                                         hooks);
    if (!served)
        return served.error();
    return 0;
}

} // namespace

void declare_serve(Command command) {
    const auto options = std::make_shared<Options>();
    command.option("--folder", options->folder, "folder of logs, settings and tables")
        .option("--book", options->book, "bench book (default: FOLDER/bench.book)")
        .option("--port", options->port,
                "serial port of the bench, or the link of a virtual bench; else the page asks")
        .option("--listen", options->listen, "TCP port of the pages (0: any that is free)")
        .flag("--open", options->open, "open the pages in this desktop's browser")
        .manual("serve")
        .runs([options] { return serve(*options); });
}

} // namespace dropledger::cli

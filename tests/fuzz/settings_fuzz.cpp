// A settings file of `dropledger run --settings`, read from a file as the program does.
#include "bench/commands/run/settings/run_options.hpp"
#include "tests/fuzz/target.hpp"

#include <fmt/format.h>

#include <sys/mman.h>
#include <unistd.h>

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* bytes, std::size_t size) {
    static const int file = ::memfd_create("settings", MFD_CLOEXEC);
    fuzz::require(::ftruncate(file, 0) == 0, "no memory file");
    fuzz::require(::pwrite(file, bytes, size, 0) == static_cast<ssize_t>(size), "no memory file");
    dropledger::cli::RunOptions options;
    const auto read =
        dropledger::cli::add_settings_file(fmt::format("/proc/self/fd/{}", file), options);
    if (!read)
        fuzz::require(!read.error().message().empty(), "a refusal says why");
    return 0;
}

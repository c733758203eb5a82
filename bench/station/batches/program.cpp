#include "bench/station/batches/program.hpp"

#include "bench/commands/shell/child.hpp"

#include <chrono>
#include <filesystem>
#include <future>

namespace dropledger::station {

namespace {

std::uint64_t size_of_logs(const std::vector<std::string>& words) {
    std::uint64_t sum = 0;
    std::error_code none;
    for (const std::string& word : words)
        if (const auto size = std::filesystem::file_size(word, none);
            !none && word.ends_with(".droplog"))
            sum += size;
    return sum;
}

} // namespace

Result<Said> run_program(const std::vector<std::string>& words,
                         const std::shared_ptr<Progress>& progress) {
    auto child = cli::Child::start(words, true, true);
    if (!child)
        return child.error();
    if (progress)
        progress->expect(size_of_logs(words));
    auto rest = std::async(std::launch::async, [&child] { return child->rest(); });
    while (rest.wait_for(std::chrono::milliseconds{50}) != std::future_status::ready) {
        if (!progress)
            continue;
        progress->has_read(child->bytes_read());
        if (progress->cancelled())
            child->ask_to_end();
    }
    Said said{.status = 0, .text = rest.get()};
    said.status = child->wait();
    return said;
}

} // namespace dropledger::station

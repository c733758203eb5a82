#include "bench/station/batches/program.hpp"

#include "bench/commands/shell/child.hpp"

#include <chrono>
#include <future>

namespace dropledger::station {

Result<Said> run_program(const std::vector<std::string>& words,
                         const std::shared_ptr<Progress>& progress) {
    auto child = cli::Child::start(words, true, true);
    if (!child)
        return child.error();
    auto rest = std::async(std::launch::async, [&child] { return child->rest(); });
    while (rest.wait_for(std::chrono::milliseconds{50}) != std::future_status::ready)
        if (progress && progress->cancelled())
            child->ask_to_end();
    Said said{.status = 0, .text = rest.get()};
    said.status = child->wait();
    return said;
}

} // namespace dropledger::station

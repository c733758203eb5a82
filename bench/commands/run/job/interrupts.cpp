#include "bench/commands/run/job/interrupts.hpp"

#include <atomic>
#include <csignal>

namespace dropledger::cli {

namespace {

// The one thing that a signal handler may touch, on whichever thread it is called.
std::atomic<int> interrupts = 0; // NOLINT: no other way out of a handler
static_assert(std::atomic<int>::is_always_lock_free);

extern "C" void count_interrupt(int) {
    ++interrupts;
}

} // namespace

void heed_signals() {
    for (const int signal : {SIGINT, SIGTERM, SIGHUP, SIGQUIT})
        std::signal(signal, count_interrupt);
    std::signal(SIGXFSZ, SIG_IGN); // a file too large is told by write()
    std::signal(SIGPIPE, SIG_IGN); // nobody looks any more; the run goes on
}

int interrupts_so_far() {
    return interrupts.load();
}

} // namespace dropledger::cli

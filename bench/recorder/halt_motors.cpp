#include "bench/recorder/halt_motors.hpp"

#include "analysis/droplog/line.hpp"
#include "bench/link/framer.hpp"

namespace dropledger::recorder {

namespace {

constexpr std::chrono::milliseconds read_patience{20};

bool holds_halted(link::Framer& framer) {
    bool halted = false;
    for (link::Frame frame = framer.next(); frame.kind != link::FrameKind::need_more;
         frame = framer.next())
        halted = halted || droplog::decode(frame.bytes).name == droplog::LineName::halted;
    return halted;
}

} // namespace

bool halt_motors(link::Transport& link, Clock& clock, const Timings& timings) {
    link::Framer framer;
    const Microseconds until = clock.steady() + timings.halt_limit;
    Microseconds next_try = clock.steady();
    while (clock.steady() < until) {
        if (clock.steady() >= next_try) {
            next_try += timings.retry;
            if (!link.write(droplog::encode("halt") + '\n'))
                return false;
        }
        const link::Read read = link.read(read_patience);
        if (read.outcome == link::ReadOutcome::gone)
            return false;
        framer.feed(read.bytes);
        if (holds_halted(framer))
            return true;
    }
    return false;
}

} // namespace dropledger::recorder

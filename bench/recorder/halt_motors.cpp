#include "bench/recorder/halt_motors.hpp"

#include "analysis/droplog/line.hpp"
#include "bench/link/framer.hpp"

namespace dropledger::recorder {

namespace {

constexpr std::chrono::milliseconds read_patience{20};

// One refusal may be the answer to an order of before.
constexpr int refusals_in_earnest = 3;

class Answers {
public:
    void take(const std::string& line) {
        const auto body = droplog::checked_body(line);
        if (!body)
            return;
        const auto fields = droplog::fields_of(*body);
        halted_ = halted_ || fields[0] == "halted";
        refusals_ += fields[0] == "refused" && fields.size() > 3 && fields[3] == "state" ? 1 : 0;
    }
    [[nodiscard]] bool nothing_moves() const { return halted_ || refusals_ >= refusals_in_earnest; }

private:
    bool halted_ = false;
    int refusals_ = 0;
};

} // namespace

bool halt_motors(Wire& wire, Clock& clock, const Timings& timings) {
    link::Framer framer;
    Answers answers;
    const Microseconds until = clock.steady() + timings.halt_limit;
    Microseconds next_try = clock.steady();
    while (wire.up() && !answers.nothing_moves() && clock.steady() < until) {
        if (clock.steady() >= next_try) {
            next_try += timings.retry;
            if (!wire.write(droplog::encode("halt")))
                return false;
        }
        const link::Read read = wire.read(read_patience);
        if (read.outcome == link::ReadOutcome::gone)
            return false;
        framer.feed(read.bytes);
        for (link::Frame frame = framer.next(); frame.kind != link::FrameKind::need_more;
             frame = framer.next())
            answers.take(frame.bytes);
    }
    return answers.nothing_moves();
}

} // namespace dropledger::recorder

#include "bench/recorder/halt_motors.hpp"

#include "analysis/droplog/line.hpp"
#include "analysis/droplog/reasons.hpp"
#include "bench/link/framer.hpp"
#include "bench/recorder/protocol/lines/controller_text.hpp"
#include "bench/recorder/wire.hpp"

namespace dropledger::recorder {

namespace {

class Answers {
public:
    explicit Answers(const HeardBefore& before) : before_(before) {}

    void take(const std::string& line) {
        const droplog::Record record = droplog::decode(line);
        if (before_.newest_seq && static_cast<std::int32_t>(record.seq - *before_.newest_seq) <= 0)
            return; // sent again, or it is another boot's
        halted_ = halted_ || record.name == droplog::LineName::halted;
        if (record.name == droplog::LineName::refused &&
            droplog::refused_code_of(field(line, detail_field)) == droplog::RefusedCode::state)
            ++refusals_;
    }
    [[nodiscard]] bool nothing_moves() const {
        return halted_ || refusals_ >= refusals_in_earnest + before_.goes_unanswered;
    }

private:
    HeardBefore before_;
    bool halted_ = false;
    int refusals_ = 0;
};

} // namespace

bool halt_motors(Wire& wire, Clock& clock, const Timings& timings, const HeardBefore& before) {
    link::Framer framer;
    Answers answers(before);
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

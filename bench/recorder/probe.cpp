#include "bench/recorder/probe.hpp"

#include "analysis/base/text.hpp"
#include "analysis/droplog/line.hpp"
#include "bench/link/framer.hpp"
#include "bench/recorder/wire.hpp"

namespace dropledger::recorder {

namespace {

constexpr Microseconds ask_every{400'000};
constexpr std::size_t firmware_field = 6;

std::optional<Answer> answer_in(std::string_view line) {
    const droplog::Record record = droplog::decode(line);
    if (record.name != droplog::LineName::hello)
        return std::nullopt;
    const auto fields = droplog::fields_of(*droplog::checked_body(line));
    return Answer{record.index, record.count,
                  percent_decode(fields.at(firmware_field)).value_or("")};
}

std::optional<Answer> answer_among(link::Framer& framer) {
    std::optional<Answer> answer;
    for (link::Frame frame = framer.next(); frame.kind != link::FrameKind::need_more;
         frame = framer.next())
        if (!answer && frame.kind == link::FrameKind::line)
            answer = answer_in(frame.bytes);
    return answer;
}

} // namespace

std::optional<Answer> probe(link::Transport& link, Clock& clock, Microseconds patience) {
    link::Framer framer;
    const Microseconds until = clock.steady() + patience;
    Microseconds next_ask = clock.steady();
    while (clock.steady() < until) {
        if (clock.steady() >= next_ask) {
            next_ask += ask_every;
            if (!link.write(droplog::encode("hello") + '\n'))
                return std::nullopt;
        }
        const link::Read read = link.read(read_patience);
        if (read.outcome == link::ReadOutcome::gone)
            return std::nullopt;
        framer.feed(read.bytes);
        if (auto answer = answer_among(framer))
            return answer;
    }
    return std::nullopt;
}

} // namespace dropledger::recorder

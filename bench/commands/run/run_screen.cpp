#include "bench/commands/run/run_screen.hpp"

#include "bench/commands/run/diagnostics.hpp"
#include "bench/commands/shell/standard.hpp"
#include "bench/recorder/protocol/words.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cstdlib>
#include <iostream>
#include <string_view>

#include <unistd.h>

namespace dropledger::cli {

namespace {

constexpr Microseconds repaint{200'000};
constexpr Microseconds plain_line_every{5'000'000};

bool is_terminal() {
    const char* const kind = std::getenv("TERM");
    return ::isatty(STDERR_FILENO) == 1 && kind != nullptr && std::string_view{kind} != "dumb";
}

std::string bar(double share) {
    constexpr int width = 30;
    const int full = static_cast<int>(share * width);
    return fmt::format("[{}{}]", std::string(static_cast<std::size_t>(full), '#'),
                       std::string(static_cast<std::size_t>(width - full), '.'));
}

std::string counts_of(const recorder::ChannelTally& tally, droplog::Mode mode) {
    if (mode == droplog::Mode::line)
        return fmt::format("seeds {:6}", tally.pulses);
    if (mode == droplog::Mode::portion)
        return fmt::format("drops {:6}  empty {:4}  short {:4}  exact {:6}  over {:4}", tally.drops,
                           tally.miss, tally.short_of, tally.exact, tally.over);
    return fmt::format("drops {:6}  single {:6}  miss {:4}  multiple {:4}", tally.drops,
                       tally.exact, tally.miss, tally.over);
}

std::string channel_line(int channel, const recorder::ChannelTally& tally, droplog::Mode mode) {
    std::string text = fmt::format("ch {:2}  {}", channel, counts_of(tally, mode));
    if (!tally.last_fault.empty())
        text += "  last fault: " + recorder::fault_in_words(tally.last_fault);
    return text;
}

} // namespace

void print_cautions() {
    tell("Before the motors start:\n"
         "  Seed may be treated. Its dust harms: wear the mask and gloves that the seed label asks "
         "for.\n"
         "  Discs, belts and valves move without warning. Keep hands, hair and sleeves out; guard "
         "closed.\n"
         "  The gates' beams are infrared and invisible. Do not look into an emitter at close "
         "range.\n"
         "  Motors and valves carry current. Switch off and unplug before you open or reach in.\n"
         "The seed label, local codes and licensed practice rule; this list does not replace "
         "them.\n");
}

std::optional<std::string> answer_at_terminal() {
    if (::isatty(STDIN_FILENO) != 1)
        return std::nullopt;
    tell("Start the motors? Type yes: ");
    std::string answer;
    std::getline(std::cin, answer);
    return answer;
}

RunScreen::RunScreen(recorder::Clock& clock, std::int64_t wanted, droplog::Mode mode)
    : clock_(clock), wanted_(static_cast<std::uint64_t>(wanted)), mode_(mode),
      terminal_(is_terminal()) {
}

std::string RunScreen::progress(const recorder::LiveTally& tally) const {
    const bool line_mode = mode_ == droplog::Mode::line;
    const std::uint64_t done = line_mode ? tally.pulses() : tally.fewest_drops();
    const char* const what = line_mode ? "seeds" : "drops";
    if (wanted_ == 0)
        return fmt::format("{} {}", done, what);
    const double share = std::min(1.0, static_cast<double>(done) / static_cast<double>(wanted_));
    return fmt::format("{} {} of {} {}", bar(share), done, wanted_, what);
}

std::vector<std::string> RunScreen::lines_of(const recorder::LiveTally& tally) const {
    std::vector<std::string> lines;
    for (const auto& [channel, counts] : tally.channels())
        lines.push_back(channel_line(channel, counts, mode_));
    lines.push_back(progress(tally) + "  (provisional; the audit decides)");
    return lines;
}

void RunScreen::show(const recorder::LiveTally& tally) {
    const Microseconds now = clock_.steady();
    if (now - shown_at_ < (terminal_ ? repaint : plain_line_every))
        return;
    shown_at_ = now;
    if (terminal_)
        return writer_.picture(lines_of(tally));
    std::uint64_t miss = 0;
    std::uint64_t over = 0;
    for (const auto& [channel, counts] : tally.channels()) {
        miss += counts.miss;
        over += counts.over;
    }
    writer_.last_picture(
        {fmt::format("{}, {} with no seed, {} with too many so far", progress(tally), miss, over)});
}

void RunScreen::say(const std::string& text) {
    note_news(text);
    writer_.text(text);
}

void RunScreen::finish(const recorder::LiveTally& tally) {
    writer_.last_picture(lines_of(tally));
    writer_.wait_at_most_2_s();
}

} // namespace dropledger::cli

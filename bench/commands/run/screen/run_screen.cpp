#include "bench/commands/run/screen/run_screen.hpp"

#include "bench/commands/run/screen/diagnostics.hpp"
#include "bench/commands/shell/standard.hpp"
#include "bench/recorder/protocol/lines/words.hpp"

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

} // namespace

std::vector<std::string> start_cautions() {
    return {
        "Seed may be treated. Its dust harms: wear the mask and gloves that the seed label asks "
        "for.",
        "Discs, belts and valves move without warning. Keep hands, hair and sleeves out; guard "
        "closed.",
        "The gates' beams are infrared and invisible. Do not look into an emitter at close range.",
        "Motors and valves carry current. Switch off and unplug before you open or reach in."};
}

void print_cautions() {
    constexpr std::size_t columns = 78;
    tell("Before the motors start:\n");
    for (const std::string& caution : start_cautions())
        for (const std::string& line : wrapped(caution, columns - 2))
            tell("  {}\n", line);
    for (const std::string& line : wrapped(above_cautions, columns))
        tell("{}\n", line);
}

bool is_asked() {
    return ::isatty(STDIN_FILENO) == 1;
}

std::optional<std::string> answer_at_terminal(const std::string& question) {
    if (!is_asked())
        return std::nullopt;
    tell("{}", question);
    std::string answer;
    std::getline(std::cin, answer);
    return answer;
}

RunScreen::RunScreen(recorder::Clock& clock, const ScreenPlan& plan)
    : clock_(clock), run_(clock, plan), terminal_(is_terminal()),
      writer_(terminal_ ? Paper::terminal : Paper::lines) {
}

void RunScreen::show(const recorder::LiveTally& tally) {
    const Microseconds now = clock_.steady();
    if (now - shown_at_ < (terminal_ ? repaint : plain_line_every))
        return;
    shown_at_ = now;
    run_.take(tally);
    for (const std::string& warning : run_.newly_dry()) {
        say(warning);
        if (terminal_)
            writer_.bell();
    }
    if (terminal_)
        return writer_.picture(run_.model());
    writer_.text(plain_line_of(run_.model()));
}

void RunScreen::say(const std::string& text) {
    note_news(text);
    writer_.text(text);
}

void RunScreen::finish(const recorder::LiveTally& tally) {
    run_.take(tally);
    run_.end();
    writer_.last_picture(run_.model());
    writer_.wait_at_most_2_s();
}

} // namespace dropledger::cli

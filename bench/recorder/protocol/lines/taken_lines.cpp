#include "bench/recorder/protocol/lines/taken_lines.hpp"

#include <functional>

namespace dropledger::recorder {

namespace {

constexpr std::size_t most_marks = 65'536;

std::size_t mark_of(std::string_view line) {
    return std::hash<std::string_view>{}(line);
}

} // namespace

void TakenLines::remember(std::uint32_t seq, std::string_view line) {
    if (seq != latest_ + 1)
        marks_.clear();
    latest_ = seq;
    marks_.push_back(mark_of(line));
    if (marks_.size() > most_marks)
        marks_.pop_front();
}

bool TakenLines::differs(std::uint32_t seq, std::string_view line) const {
    const std::uint32_t back = latest_ - seq;
    return back < marks_.size() && marks_[marks_.size() - 1 - back] != mark_of(line);
}

} // namespace dropledger::recorder

#include "bench/recorder/protocol/plan/start.hpp"

#include "analysis/droplog/line.hpp"

#include <algorithm>
#include <utility>

namespace dropledger::recorder {

namespace {

// However it is written, and nothing else: a letter too many is no yes.
bool is_yes(std::string word) {
    std::transform(word.begin(), word.end(), word.begin(),
                   [](char c) { return c >= 'A' && c <= 'Z' ? static_cast<char>(c + 32) : c; });
    return word == "yes" || word == "y";
}

} // namespace

StartConfirmed::StartConfirmed(StartConfirmed&& other) noexcept
    : unix_us_(std::exchange(other.unix_us_, std::nullopt)), given_at_(other.given_at_) {
}

StartConfirmed& StartConfirmed::operator=(StartConfirmed&& other) noexcept {
    unix_us_ = std::exchange(other.unix_us_, std::nullopt);
    given_at_ = other.given_at_;
    return *this;
}

Result<StartConfirmed> StartPrompt::ask(const Asker& asker) const {
    const auto answer = asker();
    if (!answer)
        return usage_error("run", "nobody can be asked here whether the motors may start",
                           "read the cautions above, then give `yes`");
    if (!is_yes(*answer))
        return usage_error("run", "not confirmed; nothing was started", "");
    return StartConfirmed{clock_};
}

StartConfirmed StartPrompt::told_beforehand() const {
    return StartConfirmed{clock_};
}

GoOrder::GoOrder(StartConfirmed&& confirmed) : confirmed_unix_us_(0) {
    const auto given = std::exchange(confirmed.unix_us_, std::nullopt);
    if (!given)
        throw BrokenInvariant("a start without a confirmation of its own");
    confirmed_unix_us_ = *given;
}

std::string GoOrder::line() const {
    return droplog::encode("go");
}

} // namespace dropledger::recorder

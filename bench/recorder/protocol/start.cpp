#include "bench/recorder/protocol/start.hpp"

#include "analysis/droplog/line.hpp"

#include <utility>

namespace dropledger::recorder {

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
    if (*answer != "yes")
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

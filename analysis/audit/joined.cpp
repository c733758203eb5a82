#include "analysis/audit/joined.hpp"

#include "analysis/droplog/reasons.hpp"

#include <fmt/format.h>

#include <optional>
#include <string>

namespace dropledger::audit {

namespace {

using droplog::Header;
using droplog::Integrity;
using droplog::Settings;

// What an order may have otherwise, and the drops that are counted by themselves.
bool may_differ(std::string_view key) {
    return key == "drops" || key == "operator";
}

std::optional<std::string> differing_key(const Settings& first, const Settings& other) {
    for (const auto& [key, value] : first) {
        const auto found = other.find(key);
        if (!may_differ(key) && (found == other.end() || found->second != value))
            return key;
    }
    for (const auto& [key, value] : other)
        if (!may_differ(key) && !first.contains(key))
            return key;
    return std::nullopt;
}

std::optional<std::string> difference(const Header& first, const Header& other) {
    if (other.run_id == first.run_id)
        return "it is the same run";
    if (other.started < first.started)
        return "it began before the first";
    if (const auto key = differing_key(first.run, other.run))
        return fmt::format("{} differs", *key);
    if (first.channels.size() != other.channels.size())
        return "it has other channels";
    for (const auto& [channel, settings] : first.channels) {
        const auto found = other.channels.find(channel);
        if (found == other.channels.end())
            return fmt::format("channel {} is not in it", channel);
        if (const auto key = differing_key(settings, found->second))
            return fmt::format("{} of channel {} differs", *key, channel);
    }
    return std::nullopt;
}

Error not_joined(const std::string& file, const std::string& why) {
    return input_error(file, fmt::format("it cannot be joined: {}", why), "audit it by itself");
}

class Further final : public droplog::Consumer {
public:
    Further(const Header& first, ledger::RunLedger& ledger) : first_(first), ledger_(ledger) {}

    void begin(const Header& header) override {
        differs_ = difference(first_, header);
        if (!differs_)
            ledger_.reboot();
    }
    void reboot() override {
        if (!differs_)
            ledger_.reboot();
    }
    void take(const droplog::Event& event) override {
        if (!differs_)
            ledger_.take(event);
    }
    [[nodiscard]] const std::optional<std::string>& differs() const { return differs_; }

private:
    const Header& first_;
    ledger::RunLedger& ledger_;
    std::optional<std::string> differs_;
};

bool is_sound(const Integrity& integrity) {
    return integrity.flaws().empty();
}

Status check_first(const droplog::Reading& first, const std::string& file) {
    if (!is_sound(first.integrity))
        return not_joined(file, "it is not whole and sound");
    if (droplog::ran_its_course(*first.integrity.close_reason))
        return not_joined(file, "it did not end early: it is a run by itself");
    return Done{};
}

} // namespace

Status read_joined(const droplog::Reading& first, const AuditOptions& options,
                   ledger::RunLedger& ledger) {
    if (options.continued.empty())
        return Done{};
    if (Status fits = check_first(first, options.file); !fits)
        return fits;
    for (const auto& [file, open] : options.continued) {
        const auto source = open();
        if (!source)
            return source.error();
        Further further(first.header, ledger);
        const auto reading = droplog::read_log(**source, file, further);
        if (!reading)
            return reading.error();
        if (further.differs())
            return not_joined(file, *further.differs());
        if (!is_sound(reading->integrity))
            return not_joined(file, "it is not whole and sound");
    }
    return Done{};
}

Status check_joined(const droplog::Reading& first, const AuditOptions& options,
                    std::int64_t drops) {
    const auto ordered = first.header.number("drops");
    if (options.continued.empty() || (ordered && drops <= *ordered))
        return Done{};
    return not_joined(options.continued.back().file,
                      ordered
                          ? fmt::format("together they have {} drops of the {} that were ordered",
                                        drops, *ordered)
                          : "the first one does not say how many drops were ordered");
}

} // namespace dropledger::audit

#include "analysis/droplog/integrity.hpp"

#include "analysis/base/text.hpp"

namespace dropledger::droplog {

namespace {

const std::string* find_in(const Settings& settings, std::string_view key) {
    const auto found = settings.find(key);
    return found == settings.end() ? nullptr : &found->second;
}

std::optional<std::int64_t> number_in(const std::string* text) {
    return text == nullptr ? std::nullopt : parse_int(*text);
}

} // namespace

const std::string* Header::find(std::string_view key) const {
    return find_in(run, key);
}

const std::string* Header::find(int channel, std::string_view key) const {
    const auto found = channels.find(channel);
    return found == channels.end() ? nullptr : find_in(found->second, key);
}

std::optional<std::int64_t> Header::number(std::string_view key) const {
    return number_in(find(key));
}

std::optional<std::int64_t> Header::number(int channel, std::string_view key) const {
    return number_in(find(channel, key));
}

} // namespace dropledger::droplog

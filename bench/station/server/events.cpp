#include "bench/station/server/events.hpp"

#include "analysis/base/result.hpp"
#include "analysis/base/text.hpp"

#include <fmt/format.h>

#include <algorithm>

namespace dropledger::station {

std::string event_text(std::string_view name, std::string_view data) {
    std::string text = fmt::format("event: {}\n", name);
    for (const std::string_view line : split(data, '\n'))
        text += fmt::format("data: {}\n", line);
    std::erase(text, '\r');
    return text + "\n";
}

std::string EventBox::take() {
    const std::lock_guard lock(mutex_);
    std::string text;
    for (const auto& [name, event] : waiting_)
        text += *event;
    waiting_.clear();
    return text;
}

std::size_t EventBox::waiting() const {
    const std::lock_guard lock(mutex_);
    return waiting_.size();
}

void EventBox::put(const std::string& name, const Event& event) {
    const std::lock_guard lock(mutex_);
    const auto same = std::find_if(waiting_.begin(), waiting_.end(),
                                   [&](const auto& one) { return one.first == name; });
    if (same != waiting_.end())
        same->second = event;
    else
        waiting_.emplace_back(name, event);
}

std::shared_ptr<EventBox> EventHub::join(std::function<void()> wake) {
    auto box = std::make_shared<EventBox>();
    box->wake_ = std::move(wake);
    const std::lock_guard lock(mutex_);
    for (const auto& [name, event] : latest_)
        box->put(name, event);
    std::erase_if(boxes_, [](const auto& one) { return one.expired(); });
    boxes_.push_back(box);
    return box;
}

void EventHub::publish(const std::string& name, std::string_view data, Lasts lasts) {
    const auto event = std::make_shared<const std::string>(event_text(name, data));
    const std::lock_guard lock(mutex_);
    names_[name] = lasts == Lasts::yes;
    if (names_.size() > most_names)
        throw BrokenInvariant("events of too many names");
    if (lasts == Lasts::yes) {
        const auto before = latest_.find(name);
        if (before != latest_.end() && *before->second == *event)
            return;
        latest_[name] = event;
    }
    for (const auto& weak : boxes_)
        if (const auto box = weak.lock()) {
            box->put(name, event);
            box->wake_();
        }
}

std::size_t EventHub::boxes() const {
    const std::lock_guard lock(mutex_);
    return static_cast<std::size_t>(std::count_if(boxes_.begin(), boxes_.end(),
                                                  [](const auto& one) { return !one.expired(); }));
}

} // namespace dropledger::station

// What pages are told while they are open: named events, each page with a box of its own.
//
// Assumes: of each name only the latest counts, so a box holds at most one event a name, and there
// are at most `most_names` names: a page that sleeps costs that much and no more.
// Undefined when: never; an event of one name too many is a bug of ours.
#pragma once

#include <cstddef>
#include <functional>
#include <map>
#include <memory>
#include <mutex>
#include <string>
#include <string_view>
#include <vector>

namespace dropledger::station {

constexpr std::size_t most_names = 8;

// In the form of server-sent events; line ends inside the data are kept.
[[nodiscard]] std::string event_text(std::string_view name, std::string_view data);

class EventBox {
public:
    // Everything that waits, in the form of server-sent events; empty where nothing does.
    [[nodiscard]] std::string take();
    [[nodiscard]] std::size_t waiting() const;

private:
    friend class EventHub;
    using Event = std::shared_ptr<const std::string>;
    void put(const std::string& name, const Event& event);

    mutable std::mutex mutex_;
    std::vector<std::pair<std::string, Event>> waiting_; // at most one a name, the oldest first
    std::function<void()> wake_;
};

class EventHub {
public:
    // `wake` is called, on any thread, when something was put into the box. The box is left by
    // letting go of it. A new box holds the latest of each name that lasts.
    [[nodiscard]] std::shared_ptr<EventBox> join(std::function<void()> wake);

    enum class Lasts : bool { no, yes };
    // Same data as before under a name that lasts: nothing is sent.
    void publish(const std::string& name, std::string_view data, Lasts lasts = Lasts::yes);
    [[nodiscard]] std::size_t boxes() const;

private:
    mutable std::mutex mutex_;
    std::vector<std::weak_ptr<EventBox>> boxes_;
    std::map<std::string, EventBox::Event> latest_;
    std::map<std::string, bool> names_;
};

} // namespace dropledger::station

#include "bench/commands/run/writer_thread.hpp"

#include "analysis/base/shown_text.hpp"
#include "bench/io/write_fully.hpp"

#include <fmt/chrono.h>
#include <fmt/format.h>

#include <chrono>
#include <condition_variable>
#include <ctime>
#include <deque>
#include <mutex>
#include <optional>
#include <thread>
#include <utility>

#include <unistd.h>

namespace dropledger::cli {

namespace {

constexpr std::size_t most_texts = 1000;

struct Job {
    std::deque<std::string> texts; // with their time
    std::size_t swallowed = 0;     // texts that found no room
    std::optional<std::vector<std::string>> picture;
    bool stays = false; // the picture

    [[nodiscard]] bool empty() const { return texts.empty() && !picture; }
};

// What stands on the terminal; the thread's alone. Written past the standard library, whose lock
// nobody is to hold while a terminal is held.
class Paper {
public:
    void write(const Job& job) {
        std::string bytes = wiped();
        for (const std::string& text : job.texts)
            bytes += shown_text(text) + '\n';
        if (job.swallowed > 0)
            bytes += fmt::format("{} more messages were not shown\n", job.swallowed);
        if (job.picture)
            for (const std::string& line : *job.picture)
                bytes += shown_text(line) + '\n';
        painted_ = job.picture && !job.stays ? job.picture->size() : 0;
        // A standard error that is gone has nobody who could be told.
        static_cast<void>(files::write_fully(STDERR_FILENO, bytes));
    }

private:
    [[nodiscard]] std::string wiped() const {
        return painted_ > 0 ? fmt::format("\x1b[{}F\x1b[J", painted_) : std::string{};
    }

    std::size_t painted_ = 0; // lines
};

std::string with_time(const std::string& text) {
    return fmt::format("{:%H:%M:%S} {}", fmt::localtime(std::time(nullptr)), text);
}

} // namespace

struct WriterThread::Desk {
    void write_all() {
        Paper paper;
        std::unique_lock lock(mutex);
        for (;;) {
            changed.wait(lock, [this] { return ends || !job.empty(); });
            if (job.empty())
                return;
            const Job now = std::exchange(job, {});
            busy = true;
            lock.unlock();
            paper.write(now);
            lock.lock();
            busy = false;
            changed.notify_all();
        }
    }
    std::mutex mutex;
    std::condition_variable changed;
    Job job;
    bool busy = false;
    bool ends = false;
};

WriterThread::WriterThread() : desk_(std::make_shared<Desk>()) {
    std::thread([desk = desk_] { desk->write_all(); }).detach();
}

WriterThread::~WriterThread() {
    wait_at_most_2_s();
    const std::lock_guard lock(desk_->mutex);
    desk_->ends = true;
    desk_->changed.notify_all();
}

void WriterThread::wait_at_most_2_s() {
    std::unique_lock lock(desk_->mutex);
    desk_->changed.wait_for(lock, std::chrono::seconds{2},
                            [this] { return desk_->job.empty() && !desk_->busy; });
}

void WriterThread::text(const std::string& text) {
    const std::lock_guard lock(desk_->mutex);
    if (desk_->job.texts.size() < most_texts)
        desk_->job.texts.push_back(with_time(text));
    else
        ++desk_->job.swallowed;
    desk_->changed.notify_all();
}

void WriterThread::picture(std::vector<std::string> lines) {
    const std::lock_guard lock(desk_->mutex);
    desk_->job.picture = std::move(lines);
    desk_->changed.notify_all();
}

void WriterThread::last_picture(std::vector<std::string> lines) {
    const std::lock_guard lock(desk_->mutex);
    desk_->job.picture = std::move(lines);
    desk_->job.stays = true;
    desk_->changed.notify_all();
}

} // namespace dropledger::cli

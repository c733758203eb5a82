#include "bench/cli/writer_thread.hpp"

#include <fmt/format.h>
#include <spdlog/sinks/stdout_sinks.h>
#include <spdlog/spdlog.h>

#include <chrono>
#include <condition_variable>
#include <deque>
#include <exception>
#include <mutex>
#include <optional>
#include <thread>
#include <utility>

namespace dropledger::cli {

namespace {

constexpr std::size_t most_texts = 1000;

std::shared_ptr<spdlog::logger> diagnostics() {
    auto logger = spdlog::get("run");
    if (!logger) {
        logger = spdlog::stderr_logger_st("run");
        logger->set_pattern("%H:%M:%S %v");
    }
    return logger;
}

struct Job {
    std::deque<std::string> texts;
    std::size_t swallowed = 0; // texts that found no room
    std::optional<std::vector<std::string>> picture;
    bool stays = false; // the picture

    [[nodiscard]] bool empty() const { return texts.empty() && !picture; }
};

// What stands on the terminal; the thread's alone.
class Paper {
public:
    void write(const Job& job) {
        if (!job.texts.empty())
            wipe();
        for (const std::string& text : job.texts)
            diagnostics()->info(text);
        if (job.swallowed > 0)
            diagnostics()->info("{} more messages were not shown", job.swallowed);
        if (job.picture)
            paint(*job.picture, job.stays);
    }

private:
    void wipe() {
        if (painted_ > 0)
            fmt::print(stderr, "\x1b[{}F\x1b[J", painted_);
        painted_ = 0;
    }
    void paint(const std::vector<std::string>& lines, bool stays) {
        wipe();
        for (const std::string& line : lines)
            fmt::print(stderr, "{}\n", line);
        painted_ = stays ? 0 : lines.size();
    }

    std::size_t painted_ = 0; // lines
};

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
            write(paper, now);
            lock.lock();
            busy = false;
            changed.notify_all();
        }
    }
    static void write(Paper& paper, const Job& job) {
        try {
            paper.write(job);
        } catch (const std::exception&) {
            return; // standard error is gone: there is nobody to tell
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

void WriterThread::text(std::string text) {
    const std::lock_guard lock(desk_->mutex);
    if (desk_->job.texts.size() < most_texts)
        desk_->job.texts.push_back(std::move(text));
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

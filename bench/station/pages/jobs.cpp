#include "bench/station/pages/jobs.hpp"

#include "bench/station/pages/fields.hpp"
#include "bench/station/pages/page.hpp"
#include "bench/station/server/guard.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <condition_variable>
#include <optional>

namespace dropledger::station {

namespace {

constexpr std::chrono::milliseconds patience{1500};

class CountedSource final : public ByteSource {
public:
    CountedSource(std::unique_ptr<ByteSource> source, std::atomic<std::uint64_t>& read,
                  const std::atomic<bool>& cancelled)
        : source_(std::move(source)), read_(read), cancelled_(cancelled) {}
    [[nodiscard]] Result<std::size_t> read(std::span<char> room) override {
        if (cancelled_)
            return usage_error("", "cancelled", "");
        auto got = source_->read(room);
        if (got)
            read_ += *got;
        return got;
    }

private:
    std::unique_ptr<ByteSource> source_;
    std::atomic<std::uint64_t>& read_;
    const std::atomic<bool>& cancelled_;
};

} // namespace

OpenBytes Progress::counted(OpenBytes open, std::uint64_t size) {
    size_ += size;
    return [this, open = std::move(open)]() -> Result<std::unique_ptr<ByteSource>> {
        auto source = open();
        if (!source)
            return source.error();
        return std::unique_ptr<ByteSource>(
            std::make_unique<CountedSource>(*std::move(source), read_, cancelled_));
    };
}

std::string Progress::words() const {
    constexpr double mega = 1e6;
    const double read = static_cast<double>(read_.load()) / mega;
    const double size = static_cast<double>(size_.load()) / mega;
    if (size_.load() == 0)
        return fmt::format("{:.1f} MB read", read);
    return read <= size
               ? fmt::format("{:.1f} of {:.1f} MB read", read, size)
               : fmt::format("{:.1f} MB read; its files are {:.1f} MB, some are read again", read,
                             size);
}

struct Jobs::Job {
    std::string title;
    std::string back;
    std::shared_ptr<Progress> progress = std::make_shared<Progress>();
    std::mutex mutex;
    std::condition_variable ended;
    std::optional<Response> response;
    std::thread thread;

    [[nodiscard]] bool wait() {
        std::unique_lock lock(mutex);
        return ended.wait_for(lock, patience, [this] { return response.has_value(); });
    }
    [[nodiscard]] std::optional<Response> answer() {
        const std::lock_guard lock(mutex);
        return response;
    }
    void work(const Work& what) {
        Response found;
        try {
            found = what(progress);
        } catch (const std::exception& broken) {
            found = {.status = 500,
                     .body = refusal_page(500, fmt::format("A bug of ours: {}", broken.what()))};
        }
        if (progress->cancelled())
            found = see(back);
        const std::lock_guard lock(mutex);
        response = std::move(found);
        ended.notify_all();
    }
};

void Jobs::end() {
    for (const auto& [id, job] : jobs_) {
        job->progress->cancel();
        job->thread.join();
    }
    jobs_.clear();
    order_.clear();
}

// Under the lock.
Status Jobs::make_room() {
    if (order_.size() < most_jobs)
        return Done{};
    for (auto id = order_.begin(); id != order_.end(); ++id)
        if (const auto job = jobs_.at(*id); job->answer()) {
            job->thread.join();
            jobs_.erase(*id);
            order_.erase(id);
            return Done{};
        }
    return usage_error("station", fmt::format("{} pieces of work are on already", most_jobs),
                       "wait for one to end, or cancel it");
}

Response Jobs::run(std::string title, std::string back, Work work) {
    const auto job = std::make_shared<Job>();
    job->title = std::move(title);
    job->back = std::move(back);
    const std::string id = random_token().substr(0, 16);
    {
        const std::lock_guard lock(mutex_);
        if (const Status room = make_room(); !room)
            return {.status = 503, .body = refusal_page(503, room.error().message())};
        job->thread = std::thread([job = job.get(), work = std::move(work)] { job->work(work); });
        jobs_.emplace(id, job);
        order_.push_back(id);
    }
    return job->wait() ? *job->answer() : see("/jobs/" + id);
}

std::shared_ptr<Jobs::Job> Jobs::find(const std::string& id) const {
    const std::lock_guard lock(mutex_);
    const auto found = jobs_.find(id);
    return found == jobs_.end() ? nullptr : found->second;
}

Response Jobs::page(const std::string& id, const std::string& bar) {
    const auto job = find(id);
    if (!job)
        return {.status = 404,
                .body = refusal_page(404, "This work is over and forgotten. Ask for it again.")};
    if (auto answer = job->answer())
        return *std::move(answer);
    return {.body = station::page({.title = job->title,
                                   .body = heading1(job->title) +
                                           text_line(job->progress->words(), "lead") +
                                           act("/jobs/" + id + "/cancel", "Cancel"),
                                   .bar = bar,
                                   .reloads = true})};
}

Response Jobs::cancel(const std::string& id) {
    const auto job = find(id);
    if (!job)
        return see("/");
    job->progress->cancel();
    return see(job->back);
}

} // namespace dropledger::station

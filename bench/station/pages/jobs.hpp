// Long work for a page: on a thread of its own, with how far it is, and to be cancelled.
//
// Assumes: how far is what was read of its files; work that reads no more cannot be cancelled any
// more. At most `most_jobs` are kept; the oldest that has ended gives way.
#pragma once

#include "analysis/base/readers/byte_source.hpp"
#include "bench/station/server/request.hpp"

#include <atomic>
#include <cstdint>
#include <functional>
#include <map>
#include <memory>
#include <mutex>
#include <string>
#include <thread>
#include <vector>

namespace dropledger::station {

constexpr std::size_t most_jobs = 20;

// How far a job's reading is; shared by the job and the page that asks.
class Progress {
public:
    // The same bytes, counted; an error once the job is cancelled. `size`: of the file, 0: unknown.
    [[nodiscard]] OpenBytes counted(OpenBytes open, std::uint64_t size);
    // Of work that another program does: what it is likely to read, and what it has read.
    void expect(std::uint64_t bytes) { size_ += bytes; }
    void has_read(std::uint64_t bytes) { read_ = bytes; }
    void cancel() { cancelled_ = true; }
    [[nodiscard]] bool cancelled() const { return cancelled_; }
    [[nodiscard]] std::string words() const; // "12 of 40 MB read"; "12 MB read"

private:
    std::atomic<std::uint64_t> read_ = 0;
    std::atomic<std::uint64_t> size_ = 0;
    std::atomic<bool> cancelled_ = false;
};

class Jobs {
public:
    using Work = std::function<Response(const std::shared_ptr<Progress>&)>;
    Jobs() = default;
    Jobs(const Jobs&) = delete;
    Jobs& operator=(const Jobs&) = delete;
    ~Jobs() { end(); }
    void end(); // cancels and waits; whoever gave work must outlive this

    // Its answer where that comes within a second and a half, else the page that shows how far it
    // is. `title`: plain text. `back`: where to go when it is cancelled.
    [[nodiscard]] Response run(std::string title, std::string back, Work work);
    [[nodiscard]] Response page(const std::string& id, const std::string& bar);
    [[nodiscard]] Response cancel(const std::string& id);

private:
    struct Job;
    [[nodiscard]] std::shared_ptr<Job> find(const std::string& id) const;
    [[nodiscard]] Status make_room();

    mutable std::mutex mutex_;
    std::map<std::string, std::shared_ptr<Job>> jobs_; // by id
    std::vector<std::string> order_;                   // the oldest first
};

} // namespace dropledger::station

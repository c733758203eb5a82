#include "bench/commands/run/screen/writer_thread.hpp"

#include "analysis/base/shown_text.hpp"
#include "bench/io/write_fully.hpp"

#include <fmt/chrono.h>
#include <fmt/format.h>

#include <algorithm>
#include <chrono>
#include <condition_variable>
#include <cstdlib>
#include <ctime>
#include <deque>
#include <mutex>
#include <optional>
#include <string_view>
#include <thread>
#include <utility>
#include <vector>

#include <sys/ioctl.h>
#include <unistd.h>

namespace dropledger::cli {

namespace {

constexpr std::size_t most_texts = 1000;

struct Job {
    std::deque<std::string> texts; // with their time
    std::size_t swallowed = 0;     // texts that found no room
    std::optional<ScreenModel> picture;
    bool stays = false; // the picture
    bool rings = false;

    [[nodiscard]] bool empty() const { return texts.empty() && !picture && !rings; }
};

// NO_COLOR, whatever it says, means none (no-color.org).
bool takes_colour() {
    const char* const none = std::getenv("NO_COLOR");
    const char* const kind = std::getenv("TERM");
    return (none == nullptr || *none == '\0') && kind != nullptr &&
           std::string_view{kind}.find("color") != std::string_view::npos;
}

// The terminal's size now; 80 by 24 where it does not say.
ScreenSize size_now() {
    struct winsize size {};
    if (::ioctl(STDERR_FILENO, TIOCGWINSZ, &size) != 0 || size.ws_col == 0 || size.ws_row == 0)
        return {};
    return {size.ws_col, size.ws_row};
}

// Blue, vermillion and orange: told apart by the colour-blind (Okabe and Ito 2008); the words say it
// too.
std::string_view colour_of(Ink ink) {
    switch (ink) {
    case Ink::plain:
        return "";
    case Ink::good:
        return "\x1b[38;5;32m";
    case Ink::bad:
        return "\x1b[1;38;5;166m";
    case Ink::look:
        return "\x1b[38;5;214m";
    }
    return "";
}

// What stands on the terminal; the thread's alone. Written past the standard library, whose lock
// nobody is to hold while a terminal is held.
class Sheet {
public:
    explicit Sheet(Paper paper)
        : terminal_(paper == Paper::terminal), colours_(terminal_ && takes_colour()) {}

    void write(const Job& job) {
        const ScreenSize size = terminal_ ? size_now() : ScreenSize{.columns = 200, .lines = 100};
        std::string bytes = wiped(size) + (job.rings ? "\a" : "");
        for (const std::string& text : job.texts)
            bytes += broken(shown_text(text), size);
        if (job.swallowed > 0)
            bytes += fmt::format("{} more messages were not shown\n", job.swallowed);
        painted_.clear();
        if (job.picture)
            for (const ScreenLine& line : picture_of(*job.picture, size))
                bytes += painted(line);
        if (job.stays)
            painted_.clear();
        // A standard error that is gone has nobody who could be told.
        static_cast<void>(files::write_fully(STDERR_FILENO, bytes));
    }

private:
    // Whole where a program reads it.
    [[nodiscard]] std::string broken(const std::string& text, ScreenSize size) const {
        if (!terminal_)
            return text + '\n';
        std::string bytes;
        for (const std::string& line : wrapped(text, std::max<std::size_t>(size.columns, 20) - 1))
            bytes += line + '\n';
        return bytes;
    }

    [[nodiscard]] std::string painted(const ScreenLine& line) {
        painted_.push_back(line.text.size());
        const std::string_view colour = colours_ ? colour_of(line.ink) : std::string_view{};
        return fmt::format("{}{}{}\n", colour, line.text, colour.empty() ? "" : "\x1b[0m");
    }

    // A terminal that was made narrower meanwhile has broken the lines of the picture.
    [[nodiscard]] std::string wiped(ScreenSize size) const {
        std::size_t lines = 0;
        for (const std::size_t width : painted_)
            lines += std::max<std::size_t>(1, (width + size.columns - 1) / size.columns);
        return lines > 0 ? fmt::format("\x1b[{}F\x1b[J", lines) : std::string{};
    }

    bool terminal_;
    bool colours_;
    std::vector<std::size_t> painted_; // widths of the picture's lines
};

std::string with_time(const std::string& text) {
    return fmt::format("{:%H:%M:%S} {}", fmt::localtime(std::time(nullptr)), text);
}

} // namespace

struct WriterThread::Desk {
    void write_all(Paper kind) {
        Sheet paper(kind);
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

WriterThread::WriterThread(Paper paper) : desk_(std::make_shared<Desk>()) {
    std::thread([desk = desk_, paper] { desk->write_all(paper); }).detach();
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

void WriterThread::bell() {
    const std::lock_guard lock(desk_->mutex);
    desk_->job.rings = true;
    desk_->changed.notify_all();
}

void WriterThread::picture(ScreenModel model) {
    const std::lock_guard lock(desk_->mutex);
    desk_->job.picture = std::move(model);
    desk_->changed.notify_all();
}

void WriterThread::last_picture(ScreenModel model) {
    const std::lock_guard lock(desk_->mutex);
    desk_->job.picture = std::move(model);
    desk_->job.stays = true;
    desk_->changed.notify_all();
}

} // namespace dropledger::cli

#include "bench/commands/run/screen/diagnostics.hpp"

#include "analysis/base/shown_text.hpp"
#include "bench/io/file_kind.hpp"

#include <spdlog/sinks/rotating_file_sink.h>
#include <spdlog/spdlog.h>

namespace dropledger::cli {

namespace {

using Sink = spdlog::sinks::rotating_file_sink_mt;

constexpr const char* name = "run";
constexpr std::size_t largest = std::size_t{5} << 20U; // bytes
constexpr std::size_t older_kept = 3;

void note(spdlog::level::level_enum level, const std::string& text) {
    if (const auto logger = spdlog::get(name))
        logger->log(level, shown_text(text));
}

// NAME.log and the NAME.1.log … that it turns over to.
Status check_names(const std::string& file) {
    for (std::size_t i = 0; i <= older_kept; ++i)
        if (Status free =
                files::may_write(Sink::calc_filename(file, i), files::FileKind::diagnostics);
            !free)
            return free;
    return Done{};
}

} // namespace

Status open_diagnostics(const std::optional<std::string>& file) {
    if (!file)
        return Done{};
    if (Status free = check_names(*file); !free)
        return free;
    try {
        const auto logger = std::make_shared<spdlog::logger>(
            name, std::make_shared<Sink>(*file, largest, older_kept));
        logger->set_pattern("%Y-%m-%dT%H:%M:%S.%e%z [%l] %v");
        logger->set_level(spdlog::level::debug);
        logger->flush_on(spdlog::level::debug);
        logger->set_error_handler([](const std::string&) {}); // a full disk here stops no run
        spdlog::drop(name);
        spdlog::register_logger(logger);
    } catch (const spdlog::spdlog_ex& problem) {
        return device_error(*file, problem.what(),
                            "name a diagnostics file in a folder that can be written to");
    }
    return Done{};
}

void note_news(const std::string& text) {
    note(spdlog::level::info, text);
}

void note_detail(const std::string& text) {
    note(spdlog::level::debug, text);
}

} // namespace dropledger::cli

#include "bench/station/batches/program.hpp"

#include "analysis/base/text.hpp"
#include "bench/commands/shell/child.hpp"
#include "bench/io/file_source.hpp"
#include "bench/station/pages/files.hpp"

#include <algorithm>
#include <chrono>
#include <filesystem>
#include <future>

namespace dropledger::station {

namespace {

std::uint64_t size_of_logs(const std::vector<std::string>& words) {
    std::uint64_t sum = 0;
    std::error_code none;
    for (const std::string& word : words)
        if (const auto size = std::filesystem::file_size(word, none);
            !none && word.ends_with(".droplog"))
            sum += size;
    return sum;
}

} // namespace

Result<Said> run_program(const std::vector<std::string>& words,
                         const std::shared_ptr<Progress>& progress) {
    auto child = cli::Child::start(words, true, true);
    if (!child)
        return child.error();
    if (progress)
        progress->expect(size_of_logs(words));
    auto rest = std::async(std::launch::async, [&child] { return child->rest(); });
    while (rest.wait_for(std::chrono::milliseconds{50}) != std::future_status::ready) {
        if (!progress)
            continue;
        progress->has_read(child->bytes_read());
        if (progress->cancelled())
            child->ask_to_end();
    }
    Said said{.status = 0, .text = rest.get()};
    said.status = child->wait();
    return said;
}

std::string refusal_in(const std::string& text) {
    std::string said;
    for (std::string_view line : split(text, '\n')) {
        for (const std::string_view before : {"dropledger: ", "option "})
            if (line.starts_with(before))
                line.remove_prefix(before.size());
        const std::size_t hint = line.rfind("; `dropledger ");
        if (hint != std::string_view::npos && line.ends_with("--help` tells more"))
            line = line.substr(0, hint);
        said += (said.empty() || line.empty() ? "" : " ") + std::string(line);
    }
    return said;
}

std::string without_folder(std::string text, const std::string& folder) {
    return replaced(std::move(text), folder + "/", "");
}

std::string without_options(const std::string& text) {
    std::string kept;
    std::string_view rest = text;
    while (!rest.empty()) {
        const std::string_view line =
            rest.substr(0, std::min(rest.find('\n'), rest.size() - 1) + 1);
        if (line.find(" --") == std::string_view::npos)
            kept += line;
        rest.remove_prefix(line.size());
    }
    return kept;
}

std::vector<std::string> records_in(const std::string& folder) {
    constexpr std::size_t most_bytes = std::size_t{1} << 20U;
    std::vector<std::string> records;
    for (const NamedFile& file : files_in(folder, ".toml")) {
        const auto text = files::whole_file(folder + "/" + file.name, most_bytes);
        if (text && text->find("dropledger/calibration/") != std::string::npos)
            records.push_back(file.name);
    }
    return records;
}

} // namespace dropledger::station

#include "bench/station/pages/files.hpp"

#include <fmt/chrono.h>
#include <fmt/format.h>

#include <algorithm>
#include <filesystem>
#include <tuple>

#include <sys/stat.h>

namespace dropledger::station {

namespace fs = std::filesystem;

Result<std::string> file_in(const std::string& folder, const std::string& name,
                            std::string_view ending) {
    constexpr std::size_t longest = 200;
    const bool plain = !name.empty() && name.size() <= longest && name.front() != '.' &&
                       name.find('/') == std::string::npos &&
                       std::none_of(name.begin(), name.end(),
                                    [](char c) { return static_cast<unsigned char>(c) < 0x20U; });
    if (!plain || !name.ends_with(ending) || name.size() == ending.size())
        return usage_error("name", fmt::format("'{}' is no name of a file here", name),
                           fmt::format("give a plain name that ends in {}", ending));
    return folder + "/" + name;
}

Result<std::string> made_up_file_in(const std::string& folder, const std::string& name,
                                    std::string_view ending) {
    const auto file = file_in(folder, name + std::string(ending), ending);
    if (!file)
        return usage_error("name",
                           name.empty() ? "it has none yet"
                                        : fmt::format("'{}' can't be the name of a file", name),
                           "write letters and digits, - and _ between them");
    return file;
}

namespace {

// By the clock on the wall, and which that is.
std::string local_words(std::time_t unix_s) {
    const std::tm here = fmt::localtime(unix_s);
    const std::string zone = fmt::format("{:%z}", here);
    return fmt::format("{:%Y-%m-%d %H:%M} {}", here,
                       zone == "+0000" ? std::string("UTC") : "(UTC" + zone + ")");
}

} // namespace

std::vector<NamedFile> files_in(const std::string& folder, std::string_view ending) {
    struct Found {
        std::string name;
        timespec changed;
    };
    std::vector<Found> found;
    std::error_code problem;
    for (const fs::directory_entry& entry : fs::directory_iterator(folder, problem)) {
        const std::string name = entry.path().filename().string();
        struct stat about {};
        if (file_in(folder, name, ending) && ::stat(entry.path().c_str(), &about) == 0 &&
            S_ISREG(about.st_mode))
            found.push_back({name, about.st_mtim});
    }
    std::sort(found.begin(), found.end(), [](const Found& a, const Found& b) {
        return std::tuple(b.changed.tv_sec, b.changed.tv_nsec, a.name) <
               std::tuple(a.changed.tv_sec, a.changed.tv_nsec, b.name);
    });
    std::vector<NamedFile> files;
    files.reserve(found.size());
    for (Found& one : found)
        files.push_back({std::move(one.name), local_words(one.changed.tv_sec), one.changed.tv_sec});
    return files;
}

} // namespace dropledger::station

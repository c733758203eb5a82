#include "bench/commands/shell/deliver.hpp"

#include "bench/commands/shell/standard.hpp"
#include "bench/commands/shell/usage.hpp"
#include "bench/io/write_aside.hpp"

#include <nlohmann/json.hpp>

#include <algorithm>
#include <filesystem>

#include <sys/stat.h>
#include <unistd.h>

namespace dropledger::cli {

namespace fs = std::filesystem;
using files::FileKind;

namespace {

bool same_file(const std::string& a, const std::string& b) {
    std::error_code unknown;
    if (fs::exists(a, unknown) && fs::exists(b, unknown))
        return fs::is_regular_file(a, unknown) && fs::equivalent(a, b, unknown);
    return fs::weakly_canonical(a, unknown) == fs::weakly_canonical(b, unknown);
}

bool is_standard_output(const std::string& path) {
    struct stat there {};
    struct stat ours {};
    return ::stat(path.c_str(), &there) == 0 && ::fstat(STDOUT_FILENO, &ours) == 0 &&
           S_ISREG(there.st_mode) && there.st_dev == ours.st_dev && there.st_ino == ours.st_ino;
}

std::string_view header_of(std::string_view table) {
    return table.substr(0, table.find_first_of("\r\n"));
}

} // namespace

std::string printed(const nlohmann::ordered_json& json) {
    return json.dump(2, ' ', false, nlohmann::ordered_json::error_handler_t::replace) + "\n";
}

Outputs& Outputs::reads(const std::string& file) {
    inputs_.push_back(file);
    return *this;
}

Outputs& Outputs::reads(const std::vector<std::string>& files) {
    inputs_.insert(inputs_.end(), files.begin(), files.end());
    return *this;
}

Outputs& Outputs::reads(const std::optional<std::string>& file) {
    if (file)
        inputs_.push_back(*file);
    return *this;
}

Outputs& Outputs::writes(const char* option, const std::optional<std::string>& file, FileKind kind,
                         std::string header) {
    if (file)
        files_.push_back({option, *file, kind, std::move(header), std::nullopt});
    return *this;
}

Status Outputs::check(const File& file) const {
    for (const std::string& input : inputs_)
        if (input != "-" && same_file(file.path, input))
            return usage(file.option,
                         fmt::format("{} is read here and would be written over", input),
                         "name another file");
    for (const File& other : files_)
        if (&other < &file && same_file(file.path, other.path))
            return usage(file.option, fmt::format("the same file as {}", other.option),
                         "name another file");
    if (is_standard_output(file.path))
        return usage(file.option, fmt::format("standard output goes into {}", file.path),
                     "name another file");
    const Status allowed = files::may_write(file.path, file.kind,
                                            file.content ? header_of(*file.content) : file.header);
    if (!allowed && allowed.error().kind == ErrorKind::usage)
        return usage(file.option,
                     fmt::format("{}: {}", allowed.error().where, allowed.error().what),
                     allowed.error().remedy);
    return allowed;
}

Status Outputs::check() const {
    for (const File& file : files_)
        if (const Status allowed = check(file); !allowed)
            return allowed;
    return Done{};
}

void Outputs::put(std::string_view option, std::string content) {
    const auto asked = std::find_if(files_.begin(), files_.end(),
                                    [option](const File& file) { return file.option == option; });
    if (asked != files_.end())
        asked->content = std::move(content);
}

void Outputs::text(std::string_view page) {
    standard_ += shown_text(page, Breaks::kept);
}

void Outputs::json(const nlohmann::ordered_json& json) {
    standard_ += printed(json);
}

void Outputs::json_text(const std::string& text) {
    standard_ += text + "\n";
}

Result<int> Outputs::deliver(int status) const {
    if (const Status allowed = check(); !allowed)
        return allowed.error();
    for (const File& file : files_)
        if (file.content)
            if (const Status written = files::write_file_aside(file.path, *file.content); !written)
                return written.error();
    if (const Status written = write_standard_output(standard_); !written)
        return written.error();
    write_standard_error(notes_);
    return status;
}

Result<int> deliver_text(std::string_view page, int status) {
    Outputs outputs;
    outputs.text(page);
    return outputs.deliver(status);
}

Result<int> deliver_json(const nlohmann::ordered_json& json, int status) {
    Outputs outputs;
    outputs.json(json);
    return outputs.deliver(status);
}

} // namespace dropledger::cli

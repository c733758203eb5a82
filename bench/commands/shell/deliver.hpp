// The only way out of a command: standard output, files, words on standard error, exit status.
//
// A command says first what it reads and what it was asked to write (`reads`, `writes`), lets that
// be checked before the work begins (`check`), puts its results in, and delivers. Nothing is
// written over what is read, over another output, over standard output's own file, or over a file of
// another kind; a droplog or a key is never written over. Files come first, each whole or not at
// all, then standard output. A write that fails makes the exit status 74.
#pragma once

#include "analysis/base/result.hpp"
#include "analysis/base/shown_text.hpp"
#include "bench/io/file_kind.hpp"

#include <nlohmann/json_fwd.hpp>

#include <optional>
#include <string>
#include <vector>

namespace dropledger::cli {

// As every --json prints it: bytes that are no text are shown as U+FFFD, a line end follows.
[[nodiscard]] std::string printed(const nlohmann::ordered_json& json);

class Outputs {
public:
    Outputs& reads(const std::string& file);
    Outputs& reads(const std::vector<std::string>& files);
    Outputs& reads(const std::optional<std::string>& file);
    // `option` as the person typed it; nothing is written where `file` was not given. `header`: a
    // table's, where it is known before the table is.
    Outputs& writes(const char* option, const std::optional<std::string>& file,
                    files::FileKind kind, std::string header = {});

    [[nodiscard]] Status check() const;

    void put(std::string_view option, std::string content);
    // Control characters other than line ends are shown escaped.
    void text(std::string_view page);
    void json(const nlohmann::ordered_json& json);
    void json_text(const std::string& text); // serialized already, without a line end
    // For standard error, once all is written.
    template <class... T>
    void note(fmt::format_string<decltype(shown_argument(std::declval<const T&>()))...> form,
              const T&... arguments) {
        notes_ += fmt::format(form, shown_argument(arguments)...);
    }

    [[nodiscard]] Result<int> deliver(int status) const;

private:
    struct File {
        std::string option;
        std::string path;
        files::FileKind kind;
        std::string header;
        std::optional<std::string> content;
    };

    [[nodiscard]] Status check(const File& file) const;

    std::vector<std::string> inputs_;
    std::vector<File> files_;
    std::string standard_;
    std::string notes_;
};

// A command with nothing but standard output.
[[nodiscard]] Result<int> deliver_text(std::string_view page, int status = 0);
[[nodiscard]] Result<int> deliver_json(const nlohmann::ordered_json& json, int status = 0);

} // namespace dropledger::cli

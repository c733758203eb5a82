// Where the files of a certificate lie: a folder on a disk, or texts in a test.
//
// Assumes: names are plain file names; `is_plain_name` says so of names that come out of a file.
#pragma once

#include "analysis/base/readers/byte_source.hpp"

#include <functional>
#include <string>
#include <string_view>
#include <vector>

namespace dropledger::evidence {

struct Folder {
    std::function<bool(const std::string& name)> holds;
    std::function<OpenBytes(const std::string& name)> open;
    std::function<std::vector<std::string>()> names; // of all files, in any order
};

// No way out of the folder: neither empty nor with a slash, nor . nor ..
[[nodiscard]] inline bool is_plain_name(std::string_view name) {
    return !name.empty() && name != "." && name != ".." &&
           name.find_first_of(std::string_view{"/\\\0", 3}) == std::string_view::npos;
}

} // namespace dropledger::evidence

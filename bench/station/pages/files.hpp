// Files of the station's folder by the name that a page gives.
//
// Assumes: a name is a stranger's text: no way to another folder, nothing hidden.
#pragma once

#include "analysis/base/result.hpp"

#include <cstdint>
#include <string>
#include <string_view>
#include <vector>

namespace dropledger::station {

// FOLDER/name; refused where that is not the plain name of a file with this ending.
[[nodiscard]] Result<std::string> file_in(const std::string& folder, const std::string& name,
                                          std::string_view ending);

// The same for a name that a person makes up, who knows of no ending.
[[nodiscard]] Result<std::string> made_up_file_in(const std::string& folder,
                                                  const std::string& name, std::string_view ending);

struct NamedFile {
    std::string name;
    std::string changed;        // local, to the minute
    std::int64_t changed_s = 0; // since 1970
};
// The newest first; regular files only.
[[nodiscard]] std::vector<NamedFile> files_in(const std::string& folder, std::string_view ending);

} // namespace dropledger::station

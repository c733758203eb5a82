// A new file beside the one that is to come, renamed into its place once it is whole.
//
// Its name cannot be foreseen, it is made by this call or not at all, and no link is followed: who
// can write into the folder cannot lead us elsewhere. Gone with this object where it was not put in
// place.
#pragma once

#include "analysis/base/result.hpp"

#include <string>
#include <sys/types.h>

namespace dropledger::files {

enum class Place {
    replace, // over what is there
    fresh,   // only where nothing is there
};

constexpr mode_t everyone_by_umask = 0666;

class AsideFile {
public:
    // `target` is no link (see real_path). The mode is cut by the umask.
    [[nodiscard]] static Result<AsideFile> beside(const std::string& target, mode_t mode);
    AsideFile(AsideFile&& other) noexcept;
    AsideFile& operator=(AsideFile&& other) noexcept;
    ~AsideFile();

    [[nodiscard]] int number() const { return number_; }
    // Syncs, closes, renames, syncs the folder.
    [[nodiscard]] Status put_in_place(Place place);

private:
    AsideFile(std::string target, std::string path, int number)
        : target_(std::move(target)), path_(std::move(path)), number_(number) {}

    std::string target_;
    std::string path_;
    int number_;
};

// Where the links of `path` lead, or `path` itself where nothing is there.
[[nodiscard]] std::string real_path(const std::string& path);

} // namespace dropledger::files

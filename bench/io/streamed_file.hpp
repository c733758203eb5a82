// A file written piece by piece that appears under its name only when it is whole.
//
// Assumes: one writer per path. Until finish() the pieces lie beside it in a file of a name that
// cannot be foreseen (bench/io/aside_file), gone where finish() is not reached. What is no regular
// file (a pipe, /dev/null) is written to directly. A write that fails is told by finish().
#pragma once

#include "analysis/base/result.hpp"
#include "bench/io/aside_file.hpp"
#include "bench/io/descriptor.hpp"

#include <optional>
#include <string>
#include <string_view>

namespace dropledger::files {

class StreamedFile {
public:
    [[nodiscard]] static Result<StreamedFile> create(const std::string& path,
                                                     Place place = Place::replace);

    void write(std::string_view bytes);
    [[nodiscard]] Status finish();

private:
    StreamedFile(std::string path, Place place) : path_(std::move(path)), place_(place) {}
    [[nodiscard]] int number() const;
    void flush();

    std::string path_;
    Place place_;
    std::optional<AsideFile> aside_; // one of these two
    std::optional<Descriptor> device_;
    std::string waiting_; // bytes not handed over yet
    int problem_ = 0;     // the system's, of the first write that failed
};

} // namespace dropledger::files

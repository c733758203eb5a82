// A file written piece by piece that appears under its name only when it is whole.
//
// Assumes: one writer per path. Until finish() the pieces lie beside it in `path.part`, which is
// left there if the program dies: it says by its name that it is not whole.
#pragma once

#include "analysis/base/result.hpp"

#include <fstream>
#include <string>
#include <string_view>

namespace dropledger::bench_virtual {

class StreamedFile {
public:
    [[nodiscard]] static Result<StreamedFile> create(const std::string& path);

    void write(std::string_view bytes) {
        stream_.write(bytes.data(), static_cast<std::streamsize>(bytes.size()));
    }
    [[nodiscard]] Status finish();

private:
    StreamedFile(std::string path, std::ofstream stream)
        : path_(std::move(path)), stream_(std::move(stream)) {}

    std::string path_;
    std::ofstream stream_;
};

} // namespace dropledger::bench_virtual

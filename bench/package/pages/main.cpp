// Writes manual pages and the shell's completion for the package:
//   package_pages FOLDER DATE    (FOLDER/man/*.1, FOLDER/dropledger.bash; DATE of the release)
#include "analysis/base/version.hpp"
#include "bench/commands/all/all.hpp"
#include "bench/commands/shell/command.hpp"
#include "bench/package/completion.hpp"
#include "bench/package/man_page.hpp"

#include <cstdio>
#include <filesystem>
#include <fstream>

namespace {

namespace fs = std::filesystem;

bool write(const fs::path& file, const std::string& text) {
    std::ofstream out(file, std::ios::binary);
    out << text;
    return out.flush().good();
}

} // namespace

int main(int argc, char** argv) {
    if (argc != 3) {
        std::fputs("usage: package_pages FOLDER DATE\n", stderr);
        return 64;
    }
    using namespace dropledger;
    const fs::path folder = argv[1];
    cli::Program program;
    cli::add_all(program);
    const cli::CommandPage page = program.page();
    fs::remove_all(folder / "man"); // pages of commands that there were
    fs::create_directories(folder / "man");
    bool good = write(folder / "dropledger.bash", package::bash_completion(page));
    for (const auto& [file, text] :
         package::man_pages(page, {.version = std::string(version()), .date = argv[2]}))
        good = write(folder / "man" / file, text) && good;
    return good ? 0 : 74;
}

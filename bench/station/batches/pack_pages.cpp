// A pack that was dropped: its files lie in a folder of their own, and `batch verify` looks at them.
#include "bench/station/batches/batches.hpp"

#include "analysis/report/pictures/markup.hpp"
#include "bench/io/write_aside.hpp"
#include "bench/station/batches/program.hpp"
#include "bench/station/pages/fields.hpp"
#include "bench/station/pages/files.hpp"
#include "bench/station/pages/page.hpp"

#include <algorithm>
#include <filesystem>

namespace dropledger::station {

namespace fs = std::filesystem;
using report::pictures::element;
using report::pictures::escaped;

namespace {

constexpr std::size_t most_pack_files = 5000;

// As the first page makes it: 16 hex digits.
bool is_pack(const std::string& id) {
    return id.size() == 16 && id.find_first_not_of("0123456789abcdef") == std::string::npos;
}

// The one to verify: pages where there are some, else the signed JSON.
std::string certificate_in(const std::string& folder) {
    for (const std::string_view ending :
         {std::string_view(".pdf"), std::string_view(".certificate.json")})
        if (const auto files = files_in(folder, ending); !files.empty())
            return folder + "/" + files.front().name;
    return {};
}

std::uint64_t size_of_logs(const std::string& folder) {
    std::uint64_t sum = 0;
    std::error_code none;
    for (const NamedFile& log : files_in(folder, ".droplog"))
        if (const auto size = fs::file_size(folder + "/" + log.name, none); !none)
            sum += size;
    return sum;
}

// The heading claims no more than the command does in its words, whose lines nothing in a pack can
// forge.
std::string heading_of(const Said& said) {
    if (said.failed())
        return "Not verified";
    if (said.status != 0)
        return "It does not hold";
    if (said.text.find("\nIt holds, as a REHEARSAL") != std::string::npos)
        return "It holds, as a rehearsal: it certifies nothing";
    const std::size_t batch = said.text.find("\nbatch ");
    const std::string line =
        batch == std::string::npos
            ? std::string{}
            : said.text.substr(batch + 1, said.text.find('\n', batch + 1) - batch - 1);
    return line.ends_with(": accepted") ? "It holds" : "It holds: the batch was not accepted";
}

Response told(unsigned status, const std::string& text) {
    return {.status = status, .type = "text/plain; charset=utf-8", .body = text};
}

} // namespace

Response Batches::take_file(const Request& request) const {
    const std::string& id = request.parts.at(0);
    if (!is_pack(id))
        return told(400, "this page is old: open the batches anew");
    const std::string folder = in_folder("dropped-packs/" + id);
    const auto file = file_in(folder, request.parts.at(1), "");
    if (!file)
        return told(400, file.error().message());
    if (request.body.starts_with("PK"))
        return told(400, "this is packed: unpack it, and drop the folder");
    std::error_code problem;
    fs::create_directories(folder, problem);
    if (problem)
        return told(507, problem.message());
    if (std::distance(fs::directory_iterator(folder), fs::directory_iterator{}) >=
        static_cast<std::ptrdiff_t>(most_pack_files))
        return told(413, "these are more files than a pack can hold here");
    const Status written = files::write_new_file(*file, request.body);
    return written ? told(200, request.parts.at(1)) : told(409, written.error().message());
}

Response Batches::pack_page(const Request& request) const {
    const std::string& id = request.parts.front();
    const std::string folder = in_folder("dropped-packs/" + id);
    if (!is_pack(id) || certificate_in(folder).empty())
        return first_page(said_wrong(
            input_error("pack", "no certificate is in it", "drop the whole folder, its PDF too")));
    return shown(
        "Does it hold?",
        heading1("Does it hold?") +
            text_line("What you know from elsewhere is held against it; what you leave out is not "
                      "checked.",
                      "lead") +
            form({.action = "/batches/pack/" + id,
                  .fields = text_field({"public-key", "Public key of the issuer",
                                        "64 hex digits, from the issuer itself", "", false}) +
                            text_field({"opening", "Opening",
                                        "the hash that you were told when the batch was opened", "",
                                        false}) +
                            text_field({"buyer-seed", "Your part of the choice",
                                        "the text that you gave", "", false}) +
                            radio_field({.name = "rehearsal",
                                         .label = "May it be a rehearsal?",
                                         .value = "",
                                         .options = {{"", "no"},
                                                     {"yes", "yes, let one hold as what it is"}}}),
                  .button = "Verify it"}));
}

Response Batches::verify(const Request& request) {
    const std::string id = request.parts.front();
    const std::string folder = in_folder("dropped-packs/" + id);
    const std::string certificate = is_pack(id) ? certificate_in(folder) : std::string{};
    if (certificate.empty())
        return pack_page(request);
    std::vector<std::string> words{"batch", "verify", certificate, "--logs=" + folder};
    for (const char* const field : {"public-key", "opening", "buyer-seed"})
        if (const auto value = request.form.filled(field))
            words.push_back(std::string("--") + field + "=" + *value);
    if (request.form.value("rehearsal") == "yes")
        words.emplace_back("--rehearsal");
    return jobs_.run(
        "Verifying", "/batches",
        [this, words, id, folder](const std::shared_ptr<Progress>& progress) {
            progress->expect(size_of_logs(folder));
            const auto said = run_program(words, progress);
            if (!said)
                return shown("Not verified", heading1("Not verified") + said_wrong(said.error()));
            const std::string verdict = heading_of(*said);
            return shown(verdict,
                         heading1(verdict) +
                             element("pre", "class=\"wrap\"", escaped(without_folder(said->text))) +
                             element("div", "class=\"acts\"",
                                     button_link("/batches/pack/" + id, "Ask again")));
        });
}

} // namespace dropledger::station

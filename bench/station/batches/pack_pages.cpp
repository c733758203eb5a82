// A pack that was dropped: its files lie in a folder of their own, and `batch verify` looks at them.
#include "bench/station/batches/batches.hpp"

#include "analysis/base/text.hpp"
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

// Two fields for one list of keys: a bench's own key gives both their role.
void add_keys(const Fields& form, std::vector<std::string>& words) {
    const auto bench = form.filled("bench-key");
    const auto issuer = form.filled("public-key");
    if (issuer)
        words.push_back("--public-key=" + (bench ? "issuer=" + *issuer : *issuer));
    if (bench)
        for (const std::string& one : typed_list(*bench, " ,;\t"))
            words.push_back("--public-key=bench=" + one);
}

// Beside the pack: what lies in it is looked at.
std::string serials_of(const std::string& id) {
    return "dropped-packs/" + id + ".serials.txt";
}

// A person pasted them, and knows of no file.
std::string with_serials(std::string text, const std::string& id) {
    return replaced(std::move(text), serials_of(id), "the serials");
}

std::string key_fields(const Fields& said) {
    const auto value = [&](const char* name) { return said.value(name).value_or(""); };
    return element("div", "class=\"row2 written\"",
                   text_field({"public-key", "Public key of the issuer",
                               "64 hex digits, from the issuer itself", value("public-key")}) +
                       text_field({"bench-key", "Public keys of the benches",
                                   "where others than the issuer's signed the runs; else the "
                                   "issuer's is held to be the bench's, too",
                                   value("bench-key")}));
}

std::string asking_form(const std::string& id, const Fields& said) {
    const auto value = [&](const char* name) { return said.value(name).value_or(""); };
    return form(
        {.action = "/batches/pack/" + id,
         .fields =
             key_fields(said) +
             text_field({"opening", "Opening",
                         "the hash that you were told when the batch was opened",
                         value("opening")}) +
             text_field({"buyer-seed", "Your part of the choice", "the text that you gave",
                         value("buyer-seed")}) +
             text_area({"serials", "Serial numbers that were delivered",
                        "all of the batch in its order, one a line; or pasted from a table with a "
                        "column named unit",
                        value("serials")}) +
             radio_field({.name = "rehearsal",
                          .label = "May it be a rehearsal?",
                          .value = value("rehearsal"),
                          .options = {{"", "no"}, {"yes", "yes, let one hold as what it is"}}}),
         .button = "Verify it"});
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
    return asked(id, "", {});
}

Response Batches::asked(const std::string& id, const std::string& trouble,
                        const Fields& said) const {
    return shown("Does it hold?",
                 heading1("Does it hold?") + trouble +
                     text_line("What you know from elsewhere is held against it; what you leave "
                               "out is not checked.",
                               "lead") +
                     asking_form(id, said));
}

Result<std::vector<std::string>> Batches::verify_words(const std::string& id,
                                                       const std::string& certificate,
                                                       const Fields& form) const {
    std::vector<std::string> words{"batch", "verify", certificate,
                                   "--logs=" + in_folder("dropped-packs/" + id)};
    add_keys(form, words);
    for (const char* const field : {"opening", "buyer-seed"})
        if (const auto value = form.filled(field))
            words.push_back(std::string("--") + field + "=" + *value);
    if (const auto serials = form.filled("serials")) {
        const std::string file = in_folder(serials_of(id));
        if (const Status written = files::write_file_aside(file, *serials + "\n"); !written)
            return written.error();
        words.push_back("--serials-file=" + file);
    }
    if (form.value("rehearsal") == "yes")
        words.emplace_back("--rehearsal");
    return words;
}

Response Batches::verified(const std::string& id, const std::vector<std::string>& words,
                           const Fields& form, const std::shared_ptr<Progress>& progress) const {
    progress->expect(size_of_logs(in_folder("dropped-packs/" + id)));
    const auto said = run_program(words, progress);
    if (!said)
        return asked(id, said_wrong(said.error()), form);
    const std::string text = with_serials(without_folder(said->text), id);
    if (said->failed())
        return asked(id, said_wrong(usage_error("", refusal_in(text))), form);
    const std::string verdict = heading_of(*said);
    return shown(verdict, heading1(verdict) + element("pre", "class=\"wrap\"", escaped(text)) +
                              element("details", "class=\"noprint\"",
                                      element("summary", "", "Ask again") + asking_form(id, form)));
}

Response Batches::verify(const Request& request) {
    const std::string id = request.parts.front();
    const std::string folder = in_folder("dropped-packs/" + id);
    const std::string certificate = is_pack(id) ? certificate_in(folder) : std::string{};
    if (certificate.empty())
        return pack_page(request);
    const auto words = verify_words(id, certificate, request.form);
    if (!words)
        return asked(id, said_wrong(words.error()), request.form);
    return jobs_.run(
        "Verifying", "/batches",
        [this, id, words = *words, form = request.form](const std::shared_ptr<Progress>& progress) {
            return verified(id, words, form, progress);
        });
}

} // namespace dropledger::station

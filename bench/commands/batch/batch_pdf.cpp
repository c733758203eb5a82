#include "bench/commands/batch/batch_pdf.hpp"

#include "analysis/batch/certificate.hpp"
#include "analysis/report/pdf/pages.hpp"
#include "bench/commands/shell/deliver.hpp"
#include "bench/io/file_source.hpp"

#include <fmt/format.h>

#include <memory>

namespace dropledger::cli {

namespace {

constexpr const char* manual = R"(DESCRIPTION
  Prints a signed certificate as A4 pages for people: what was certified, against what, by which plan with its risks,
  what to expect of all units, every run, calibrations, what it does not say, cautions, and how to check it. The signed
  JSON is attached inside the PDF, byte for byte. Only a certificate whose signature fits its content is printed; logs
  are not looked at: `dropledger batch verify` does that.

INPUT
  CERT.json as `dropledger batch certificate` writes it, or a PDF printed from one: its attachment is taken.

OUTPUT
  The PDF. The same certificate gives the same bytes on one machine. It is an ordinary PDF with an attachment, not
  PDF/A-3: the library writes neither the metadata nor the output intent that PDF/A asks for.

EXIT STATUS
  0 done, 64 wrong usage, 65 no certificate, or its signature does not fit, 74 file trouble.

EXAMPLES
  dropledger batch print spring.certificate.json --out spring.pdf
  pdfdetach -saveall spring.pdf)";

struct Options {
    std::string file;
    std::string out;
};

Result<int> print(const Options& options) {
    constexpr std::size_t longest = std::size_t{256} << 20U; // bytes
    Outputs outputs;
    outputs.reads(options.file).writes("--out", options.out, files::FileKind::pdf);
    if (const Status allowed = outputs.check(); !allowed)
        return allowed.error();
    auto bytes = files::whole_file(options.file, longest);
    if (!bytes)
        return bytes.error();
    const auto found = certificate_file(*std::move(bytes), options.file);
    if (!found)
        return found.error();
    const auto certificate = batch::parse_certificate(found->json, options.file);
    if (!certificate)
        return certificate.error();
    if (!batch::is_canonical(found->json) || !batch::signature_holds(found->json))
        return Error{ErrorKind::input, options.file, "its signature does not fit its content",
                     "ask its issuer for the file as it was signed"};
    outputs.put("--out", report::certificate::to_pdf(*certificate, found->json));
    outputs.note("{}: certificate {}, signed JSON inside\n", options.out, certificate->id);
    return outputs.deliver(0);
}

} // namespace

Result<CertificateFile> certificate_file(std::string bytes, const std::string& where) {
    if (!bytes.starts_with("%PDF-"))
        return CertificateFile{std::move(bytes), std::nullopt};
    auto json = report::certificate::attached_json(bytes);
    if (!json)
        return Error{ErrorKind::input, where,
                     "no certificate is attached to this PDF, or it was changed since it was made",
                     "ask its issuer for the signed JSON"};
    const auto certificate = batch::parse_certificate(*json, where);
    const bool same = certificate && report::certificate::to_pdf(*certificate, *json) == bytes;
    return CertificateFile{std::move(*json), same};
}

void add_batch_print(Command& batch) {
    const auto options = std::make_shared<Options>();
    batch.subcommand("print", "a signed certificate as a PDF for people")
        .option("CERT", options->file, "the signed certificate")
        .required("CERT")
        .option("--out", options->out, "the PDF to be written")
        .required("--out")
        .manual(manual)
        .runs([options] { return print(*options); });
}

} // namespace dropledger::cli

#include "anfract/record/sent_letter.h"

#include <algorithm>
#include <array>

namespace anfract::record {
namespace {

constexpr std::array kinds{"letter", "leaflet", "discharge"};
constexpr std::size_t longest_name = 120;

bool is_letter(const std::string& kind) {
    return std::find(kinds.begin(), kinds.end(), kind) != kinds.end();
}

/// One line that can be the name of a file, cut between characters of UTF-8.
std::string as_name(std::string to) {
    for (char& c : to) {
        const auto byte = static_cast<unsigned char>(c);
        if (byte < 32 || byte == 127 || c == '/' || c == '\\') c = ' ';
    }
    to.erase(0, to.find_first_not_of(" ."));
    if (to.size() > longest_name) {
        to.resize(longest_name);
        while (!to.empty() && (static_cast<unsigned char>(to.back()) & 0xC0) == 0x80) to.pop_back();
        if (!to.empty() && static_cast<unsigned char>(to.back()) >= 0xC0) to.pop_back();
    }
    return to;
}

}  // namespace

Result<NewCaseFile> sent_letter(const std::string& kind, const std::string& to, std::string bytes) {
    if (!is_letter(kind)) {
        return fail(ErrorCode::BadInput, "is not letter, leaflet or discharge", kind,
                    "give one of them");
    }
    const bool pdf = bytes.starts_with("%PDF-");
    if (!pdf && !bytes.starts_with("<!DOCTYPE html"))
        return fail(ErrorCode::BadInput, "is neither PDF nor HTML", kind, "write it anew");
    NewCaseFile file;
    file.kind = kind;
    file.name = as_name(to) + (pdf ? ".pdf" : ".html");
    file.media_type = pdf ? "application/pdf" : "text/html";
    file.bytes = std::move(bytes);
    return file;
}

std::vector<SentLetter> sent_letters(const std::vector<CaseFile>& files) {
    std::vector<SentLetter> letters;
    for (const CaseFile& file : files) {
        if (!is_letter(file.kind)) continue;
        letters.push_back({file.kind, file.version, file.made, file.author,
                           file.name.substr(0, file.name.rfind('.'))});
    }
    std::stable_sort(letters.begin(), letters.end(),
                     [](const SentLetter& a, const SentLetter& b) { return a.made < b.made; });
    return letters;
}

}  // namespace anfract::record

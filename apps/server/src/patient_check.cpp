#include "anfract/server/patient_check.h"

#include <locale.h>
#include <wctype.h>

#include <algorithm>
#include <cwchar>
#include <memory>
#include <nlohmann/json.hpp>
#include <set>

#include "anfract/base/json_text.h"

namespace anfract::server {
using nlohmann::json;

namespace {

/// The words of a name in lower case; letters of any script, everything else parts words.
std::set<std::wstring> words_of(const std::string& name) {
    struct Free {
        void operator()(locale_t one) const { freelocale(one); }
    };
    static const std::unique_ptr<std::remove_pointer_t<locale_t>, Free> letters(
        newlocale(LC_CTYPE_MASK, "C.UTF-8", nullptr));
    std::set<std::wstring> words;
    if (!letters) return words;
    const locale_t before = uselocale(letters.get());
    std::wstring word;
    std::mbstate_t state{};
    for (std::size_t at = 0; at < name.size();) {
        wchar_t letter = 0;
        const std::size_t length = std::mbrtowc(&letter, &name[at], name.size() - at, &state);
        const bool read = length > 0 && length <= name.size() - at;
        if (!read) state = {};
        if (read && iswalnum(static_cast<wint_t>(letter))) {
            word += static_cast<wchar_t>(towlower(static_cast<wint_t>(letter)));
        } else {
            words.insert(word);
            word.clear();
        }
        at += read ? length : 1;
    }
    words.insert(word);
    words.erase(L"");
    uselocale(before);
    return words;
}

/// A DICOM name holds up to three spellings of one name, each of five parts [DICOM PS3.5, 6.2.1.2].
bool same_name(const std::string& in_notes, const std::string& in_scan) {
    const std::set<std::wstring> noted = words_of(in_notes);
    bool silent = true;
    for (std::size_t begin = 0; begin <= in_scan.size();) {
        const std::size_t end = std::min(in_scan.find('=', begin), in_scan.size());
        const std::set<std::wstring> scanned = words_of(in_scan.substr(begin, end - begin));
        begin = end + 1;
        if (scanned.empty()) continue;
        silent = false;
        if (std::includes(noted.begin(), noted.end(), scanned.begin(), scanned.end()) ||
            std::includes(scanned.begin(), scanned.end(), noted.begin(), noted.end()))
            return true;
    }
    return silent || noted.empty();
}

/// "Invented^Case" as people write it: "Case Invented".
std::string readable(const std::string& name) {
    const std::string first = name.substr(0, name.find('='));
    const std::size_t mark = first.find('^');
    if (mark == std::string::npos) return first;
    std::string given = first.substr(mark + 1);
    std::replace(given.begin(), given.end(), '^', ' ');
    return given.substr(0, given.find_last_not_of(' ') + 1) + " " + first.substr(0, mark);
}

/// 2026-01-31 of 20260131; anything else is no date.
std::string date_of(const std::string& dicom_date) {
    if (dicom_date.size() != 8 || dicom_date.find_first_not_of("0123456789") != std::string::npos)
        return "";
    return dicom_date.substr(0, 4) + "-" + dicom_date.substr(4, 2) + "-" + dicom_date.substr(6);
}

const char* const look = ". Check whose scan this is before anything is done or given out.";

}  // namespace

std::vector<std::string> patient_differences(const json& notes, const DicomStudy& study) {
    const json patient = notes.value("patient", json::object());
    const std::string name = patient.value("name", ""), born = patient.value("born", ""),
                      born_in_scan = date_of(study.birth_date);
    std::vector<std::string> sentences;
    if (!same_name(name, study.patient_name)) {
        sentences.push_back("The scan names another patient than the notes: " +
                            readable(study.patient_name) + ", not " + name + look);
    }
    if (!born.empty() && !born_in_scan.empty() && born != born_in_scan) {
        sentences.push_back("The scan gives another date of birth than the notes: " + born_in_scan +
                            ", not " + born + look);
    }
    return sentences;
}

Result<std::vector<std::string>> patient_warnings(const record::Record& record,
                                                  const std::string& case_id, const json& notes) {
    const auto entry = record.cases().find(case_id);
    if (!entry) return tl::unexpected(entry.error());
    if (entry->scan.empty()) return std::vector<std::string>();
    const auto kept = record.scans().find(entry->scan);
    if (!kept && kept.error().code == ErrorCode::NotFound) return std::vector<std::string>();
    if (!kept) return tl::unexpected(kept.error());
    const json description = parse_json(kept->content, kept->id).value_or(json());
    DicomStudy study;
    if (description.is_object() && description.contains("study")) {
        const json& told = description.at("study");
        for_each_member(study, [&](const char* key, std::string& text) {
            if (told.is_object() && told.contains(key) && told.at(key).is_string())
                text = told.at(key);
        });
    }
    return patient_differences(notes, study);
}

}  // namespace anfract::server

#pragma once

#include <map>
#include <nlohmann/json_fwd.hpp>
#include <string>

#include "anfract/base/result.h"
#include "anfract/plan/plan.h"
#include "anfract/report/letter.h"

namespace anfract {

enum class LetterForm { Pdf, Html };

/// The form a file's name asks for: .pdf or .html. Errors: BadInput for any other.
Result<LetterForm> letter_form_of(const std::string& path);

/// A Mustache template, with built-in ones by name ("leaflet.en", "leaflet.de", "discharge.en").
/// Errors: NotFound.
Result<std::string> built_in_template(const std::string& name);

/// A tooth as templates name it: `tooth` (ISO 3950), `universal`, and `words` in the language.
nlohmann::json tooth_values(const std::string& fdi, const std::string& language);

/// What a page made from a template is like beside its text.
struct DocumentLook {
    std::string title;
    std::string language = "en";  ///< "en" or "de"
    double size_pt = 9;           ///< of running text on paper
    bool invented = false;
    bool addressed = false;  ///< a letter to a colleague: names patient and recipient at its head
    const Plan* plan = nullptr;                   ///< for a figure named "section"; may be null
    std::map<std::string, std::string> pictures;  ///< bytes of PNG or JPEG, by names of figures
};

/// Fills a Mustache template and writes it as a letter. Values are text, never markup. The filled
/// template may hold h1 to h3, p, ul, li, table, tr, th (with data-share), td, strong, em, br and
/// figure (data-name="section", or a picture's) with figcaption; nothing else.
///
/// The plain cautions stand on every page whatever the template says.
/// Errors: BadInput when the template is none, or holds something else.
Result<std::string> document_from(const std::string& text, const nlohmann::json& values,
                                  const Letter& letter, const DocumentLook& look, LetterForm form);

/// A leaflet about the treatment for the patient, in plain words. @param language  "en" or "de"
/// Errors: BadInput (another language, no canal).
Result<std::string> leaflet(const Plan& plan, const Letter& letter, const std::string& language,
                            LetterForm form);

}  // namespace anfract

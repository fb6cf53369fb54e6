#pragma once

#include <filesystem>
#include <nlohmann/json_fwd.hpp>
#include <string>
#include <vector>

#include "anfract/base/result.h"
#include "anfract/plan/plan.h"
#include "anfract/scan/volume.h"

namespace anfract {

/// What a letter says beside the plan; the contents of an anfract.letter file. Empty parts are left
/// out.
struct Letter {
    std::vector<std::string> practice;   ///< lines of the sender, the name first
    std::vector<std::string> recipient;  ///< lines of the address
    std::string patient;
    std::string date;
    std::string salutation = "Dear colleague,";
    std::string closing = "With kind regards,";
    std::string author;
    std::string call;      ///< whom the patient calls, and when: a telephone number in words
    std::string logo_png;  ///< bytes of the practice's picture
    std::vector<std::string> requests;  ///< what is asked of the reader; as default_requests()
};

/// What a referring dentist is asked if the letter file does not say otherwise (common practice, no
/// source).
std::vector<std::string> default_requests();

/// Reads an anfract.letter file, and the picture beside it that it names; BadInput names the key
/// that is wrong.
Result<Letter> read_letter(const std::filesystem::path& path);
Result<Letter> letter_from_json(const nlohmann::json& document, const std::string& where);

/// Placeholders for an invented case, each of which says that it is invented.
Letter invented_letter();

/// The part of a scan that holds the tooth, with 9 mm of room round its canals for the letter's
/// sections. Empty when the tooth lies outside the scan.
Brick brick_round(const Volume& scan, const Tooth& tooth);

/// The plan as a letter on A4: a PDF with tags, embedded fonts and real text in any script.
///
/// @param scan  grey values round the tooth (brick_round) for the two sections; null: they are
/// drawn from the tooth's model
/// @return the bytes of the file
/// Errors: BadInput when the plan has no canal.
Result<std::string> letter_pdf(const Plan& plan, const Letter& letter, const Brick* scan = nullptr);

/// The same letter as one HTML page that needs nothing else, for reading on a screen or aloud.
Result<std::string> letter_html(const Plan& plan, const Letter& letter,
                                const Brick* scan = nullptr);

}  // namespace anfract

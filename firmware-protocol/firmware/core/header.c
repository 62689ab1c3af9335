#include "header.h"

#include <stddef.h>

#include "errors.h"

static char upper(char character) {
    return character >= 'a' && character <= 'z' ? (char)(character - 'a' + 'A') : character;
}

static bool is_lower(char character) {
    return character >= 'a' && character <= 'z';
}

static bool is_mnemonic(char character) {
    char raised = upper(character);
    return (raised >= 'A' && raised <= 'Z') || (character >= '0' && character <= '9') ||
           character == '*' || character == '_';
}

void header_start(struct header *header) {
    header->path_length = 0;
}

int16_t header_take(struct header *header, const char **at) {
    const char *from = *at;
    uint8_t length = 0;
    uint8_t path_length = 0;
    if (*from == ':') {
        from++;
    } else if (*from != '*') {
        for (; length < header->path_length; length++) {
            header->bytes[length] = header->path[length];
        }
        path_length = length;
    }
    bool common = *from == '*';
    bool fits = true;
    for (; is_mnemonic(*from) || *from == ':' || *from == '?'; from++) {
        if (length == HEADER_LENGTH_MAX) {
            fits = false;
            continue;
        }
        header->bytes[length++] = *from;
        if (*from == ':') {
            path_length = length;
        }
    }
    if (*from != ' ' && *from != '\0') {
        return ERROR_SYNTAX_ERROR;
    }
    *at = from;
    header->bytes[length] = '\0';
    if (!common) {
        /* SCPI-1999 6.2.4: common commands leave the path where it was. */
        for (uint8_t i = 0; i < path_length; i++) {
            header->path[i] = header->bytes[i];
        }
        header->path_length = path_length;
    }
    return fits ? ERROR_NO_ERROR : ERROR_UNDEFINED_HEADER;
}

/* Step over one node in both; false when the header's node is neither its long nor short form. */
static bool match_node(const FLASH char **pattern, const char **header) {
    const FLASH char *expected = *pattern;
    const char *given = *header;
    const char *after_short = NULL;
    bool alike = true;
    for (; is_mnemonic(*expected); expected++) {
        if (is_lower(*expected) && after_short == NULL && alike) {
            after_short = given;
        }
        alike = alike && upper(*given) == upper(*expected);
        if (alike) {
            given++;
        } else if (after_short == NULL) {
            return false;
        }
    }
    *pattern = expected;
    if (alike && !is_mnemonic(*given)) {
        *header = given;
        return true;
    }
    if (after_short != NULL && !is_mnemonic(*after_short)) {
        *header = after_short;
        return true;
    }
    return false;
}

static const FLASH char *after_bracket(const FLASH char *pattern) {
    while (*pattern != ']') {
        pattern++;
    }
    return pattern + 1;
}

bool header_matches(const FLASH char *pattern, const char *header) {
    if (!match_node(&pattern, &header)) {
        return false;
    }
    for (;;) {
        if (*pattern == '[') {
            const FLASH char *optional = pattern + 2; /* the bracket and its colon */
            const char *node = header + 1;
            if (*header == ':' && match_node(&optional, &node)) {
                header = node;
            }
            pattern = after_bracket(pattern);
        } else if (*pattern == ':') {
            if (*header++ != ':') {
                return false;
            }
            pattern++;
            if (!match_node(&pattern, &header)) {
                return false;
            }
        } else if (*pattern == '?') {
            return header[0] == '?' && header[1] == '\0';
        } else {
            return *header == '\0';
        }
    }
}

/* Messages and lists of findings (include/sheave/status.h). */
#include "sheave/status.h"

#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum shv_status shv_fail(struct shv_message *message, enum shv_status status, const char *format,
                         ...)
{
    if (message == NULL) {
        return status;
    }
    va_list arguments;
    va_start(arguments, format);
    int length = vsnprintf(message->text, sizeof message->text, format, arguments);
    va_end(arguments);
    if (length < 0) {
        message->text[0] = '\0';
    } else if ((size_t)length >= sizeof message->text) {
        memcpy(message->text + sizeof message->text - 4, "...", 4);
    }
    return status;
}

/* Formats into fresh memory; NULL when there is none. */
static char *format_text(const char *format, va_list arguments)
{
    va_list again;
    va_copy(again, arguments);
    int length = vsnprintf(NULL, 0, format, again);
    va_end(again);
    if (length < 0) {
        return NULL;
    }
    char *text = malloc((size_t)length + 1);
    if (text != NULL) {
        vsnprintf(text, (size_t)length + 1, format, arguments);
    }
    return text;
}

static bool make_room(struct shv_diagnostics *list)
{
    if (list->count < list->capacity) {
        return true;
    }
    size_t capacity = list->capacity == 0 ? 16 : list->capacity * 2;
    struct shv_diagnostic *items = realloc(list->items, capacity * sizeof *items);
    if (items == NULL) {
        return false;
    }
    list->items = items;
    list->capacity = capacity;
    return true;
}

void shv_diagnostics_add(struct shv_diagnostics *list, bool is_warning, const char *format, ...)
{
    if (!is_warning) {
        list->errors++;
    }
    va_list arguments;
    va_start(arguments, format);
    char *text = format_text(format, arguments);
    va_end(arguments);
    if (text == NULL || !make_room(list)) {
        free(text);
        list->out_of_memory = true;
        return;
    }
    list->items[list->count].is_warning = is_warning;
    list->items[list->count].text = text;
    list->count++;
}

void shv_diagnostics_free(struct shv_diagnostics *list)
{
    for (size_t i = 0; i < list->count; i++) {
        free(list->items[i].text);
    }
    free(list->items);
    *list = (struct shv_diagnostics){0};
}

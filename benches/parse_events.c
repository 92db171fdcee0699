/* What libyaml takes to parse files, every event of them and nothing else: the yardstick of `benches/measure`. */
#include <stdio.h>
#include <yaml.h>

int main(int count, char **paths) {
    unsigned long events = 0;
    for (int at = 1; at < count; at++) {
        FILE *file = fopen(paths[at], "rb");
        yaml_parser_t parser;
        yaml_event_t event;
        if (!file || !yaml_parser_initialize(&parser)) {
            return 2;
        }
        yaml_parser_set_input_file(&parser, file);
        for (int done = 0; !done; events++) {
            if (!yaml_parser_parse(&parser, &event)) {
                fprintf(stderr, "%s: %s\n", paths[at], parser.problem);
                return 2;
            }
            done = event.type == YAML_STREAM_END_EVENT;
            yaml_event_delete(&event);
        }
        yaml_parser_delete(&parser);
        fclose(file);
    }
    printf("%lu\n", events);
    return 0;
}

-- All of one name: what the shop's dogs of a coat type tell the next one, asked for at every plan.
CREATE INDEX made_name ON made (shop, name, made_from, of_id);

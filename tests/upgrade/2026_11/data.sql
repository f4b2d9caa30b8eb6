BEGIN TRANSACTION;
CREATE TABLE alembic_version (
	version_num VARCHAR(32) NOT NULL, 
	CONSTRAINT alembic_version_pkc PRIMARY KEY (version_num)
);
INSERT INTO "alembic_version" VALUES('0003');
CREATE TABLE audit (
	id INTEGER NOT NULL, 
	at VARCHAR(40) NOT NULL, 
	device_id VARCHAR(36), 
	who VARCHAR(120) NOT NULL, 
	address VARCHAR(64) NOT NULL, 
	action VARCHAR(40) NOT NULL, 
	job_id VARCHAR(36), 
	detail TEXT NOT NULL, 
	CONSTRAINT pk_audit PRIMARY KEY (id)
);
INSERT INTO "audit" VALUES(1,'2026-11-29T21:44:51.179+00:00',NULL,'this machine','127.0.0.1','sent','01a22944-8e77-7050-9355-8bec5cbb8cc8','{"entries":3,"writers":{"wciOwC0gJLIJWuAqYkUy4g":[1,3]}}');
INSERT INTO "audit" VALUES(2,'2026-11-29T21:44:52.917+00:00',NULL,'this machine','127.0.0.1','sent','01a22944-8e77-7050-9355-8bec5cbb8cc8','{"entries":1,"writers":{"wciOwC0gJLIJWuAqYkUy4g":[4,4]}}');
INSERT INTO "audit" VALUES(3,'2026-11-29T21:44:58.121+00:00',NULL,'this machine','127.0.0.1','sent','01a22944-8e77-7050-9355-8bec5cbb8cc8','{"entries":13,"writers":{"wciOwC0gJLIJWuAqYkUy4g":[5,17]}}');
INSERT INTO "audit" VALUES(4,'2026-11-29T21:45:02.374+00:00',NULL,'this machine','127.0.0.1','sent','01a22944-8e77-7050-9355-8bec5cbb8cc8','{"entries":3,"writers":{"Vfry0Enbbx-gvp-ucXyMRT":[1,3]}}');
INSERT INTO "audit" VALUES(5,'2026-11-29T21:45:02.880+00:00',NULL,'this machine','127.0.0.1','sent','01a22944-8e77-7050-9355-8bec5cbb8cc8','{"entries":3,"writers":{"wciOwC0gJLIJWuAqYkUy4g":[18,20]}}');
INSERT INTO "audit" VALUES(6,'2026-11-29T21:45:11.249+00:00',NULL,'this machine','','credential_added',NULL,'{"device":"01a22944-e750-7033-a723-27fcc3967786","name":"Office script","role":"surveyor","until":null}');
INSERT INTO "audit" VALUES(7,'2026-11-29T21:45:17.433+00:00',NULL,'this machine','','invited',NULL,'{"name":"Second phone","role":"surveyor","until":"2026-11-30T21:45:17.423+00:00"}');
INSERT INTO "audit" VALUES(8,'2026-11-29T21:45:24.015+00:00',NULL,'this machine','','client_link_made','01a22944-8e77-7050-9355-8bec5cbb8cc8','{"link":"01a22945-192e-70e9-830f-e4e158bd4b77","name":"A client","until":"2026-12-29T21:45:24.014+00:00"}');
CREATE TABLE clash (
	job_id VARCHAR(36) NOT NULL, 
	writer VARCHAR(64) NOT NULL, 
	number BIGINT NOT NULL, 
	sha256 VARCHAR(64) NOT NULL, 
	body TEXT NOT NULL, 
	reasons TEXT NOT NULL, 
	received_at VARCHAR(40) NOT NULL, 
	CONSTRAINT pk_clash PRIMARY KEY (job_id, writer, number, sha256)
);
INSERT INTO "clash" VALUES('01a22944-8e77-7050-9355-8bec5cbb8cc8','Vfry0Enbbx-gvp-ucXyMRT',1,'87dd4936e73a6bfc4d3f66a599fba90a4a9cf5c94cf983d05c044424b2b460b7','{"device_id":"phone-9wJGhBfqya","fields":{"title":"Another of the same name"},"job_id":"01a22944-8e77-7050-9355-8bec5cbb8cc8","kind":"job","number":1,"record_id":"01a22944-8e77-7050-9355-8bec5cbb8cc8","recorded_at":"2026-11-29T21:45:01.951+00:00","writer":"Vfry0Enbbx-gvp-ucXyMRT"}','{"entry": ["Another entry is already stored under this identity. This one was kept beside it."]}','2026-11-29T21:45:03.158+00:00');
CREATE TABLE client_link (
	id VARCHAR(36) NOT NULL, 
	name VARCHAR(80) NOT NULL, 
	job_id VARCHAR(36) NOT NULL, 
	secret_sha256 VARCHAR(64) NOT NULL, 
	made_at VARCHAR(40) NOT NULL, 
	expires_at VARCHAR(40) NOT NULL, 
	last_seen_at VARCHAR(40), 
	revoked_at VARCHAR(40), 
	CONSTRAINT pk_client_link PRIMARY KEY (id), 
	CONSTRAINT uq_client_link_secret_sha256 UNIQUE (secret_sha256)
);
INSERT INTO "client_link" VALUES('01a22945-192e-70e9-830f-e4e158bd4b77','A client','01a22944-8e77-7050-9355-8bec5cbb8cc8','b5c2a3e11627b070c33b81baa606f8be37244fdfb72e307e63c97565acfc7336','2026-11-29T21:45:24.013+00:00','2026-12-29T21:45:24.014+00:00',NULL,NULL);
CREATE TABLE device (
	id VARCHAR(36) NOT NULL, 
	name VARCHAR(80) NOT NULL, 
	role VARCHAR(16) NOT NULL, 
	job_id VARCHAR(36), 
	secret_sha256 VARCHAR(64) NOT NULL, 
	created_at VARCHAR(40) NOT NULL, 
	last_seen_at VARCHAR(40), 
	last_address VARCHAR(64), 
	revoked_at VARCHAR(40), way VARCHAR(16) DEFAULT 'cookie' NOT NULL, expires_at VARCHAR(40), 
	CONSTRAINT pk_device PRIMARY KEY (id), 
	CONSTRAINT uq_device_secret_sha256 UNIQUE (secret_sha256)
);
INSERT INTO "device" VALUES('01a22944-e750-7033-a723-27fcc3967786','Office script','surveyor',NULL,'a334855be84daaf8a8e3ffeef8bef6220fa2c1cd84c20388288f373bccd5818a','2026-11-29T21:45:11.248+00:00',NULL,NULL,NULL,'bearer',NULL);
CREATE TABLE entry (
	job_id VARCHAR(36) NOT NULL, 
	writer VARCHAR(64) NOT NULL, 
	number BIGINT NOT NULL, 
	record_id VARCHAR(36) NOT NULL, 
	kind VARCHAR(32) NOT NULL, 
	body TEXT NOT NULL, 
	sha256 VARCHAR(64) NOT NULL, 
	aside TEXT, 
	received_at VARCHAR(40) NOT NULL, 
	CONSTRAINT pk_entry PRIMARY KEY (job_id, writer, number)
)
 WITHOUT ROWID

;
INSERT INTO "entry" VALUES('01a22944-8e77-7050-9355-8bec5cbb8cc8','Vfry0Enbbx-gvp-ucXyMRT',1,'01a22944-8e77-7050-9355-8bec5cbb8cc8','job','{"device_id":"phone-9wJGhBfqya","fields":{"client_reference":"By the second phone"},"job_id":"01a22944-8e77-7050-9355-8bec5cbb8cc8","kind":"job","number":1,"record_id":"01a22944-8e77-7050-9355-8bec5cbb8cc8","recorded_at":"2026-11-29T21:45:01.951+00:00","writer":"Vfry0Enbbx-gvp-ucXyMRT"}','091bdb07db0c58043e9ccd1c94d96ab0ee2ee956ddafcab2292b89bd3bc27bd1',NULL,'2026-11-29T21:45:02.374+00:00');
INSERT INTO "entry" VALUES('01a22944-8e77-7050-9355-8bec5cbb8cc8','Vfry0Enbbx-gvp-ucXyMRT',2,'01a22944-b3d7-73c3-9c03-ae9782695e5b','remark','{"device_id":"phone-9wJGhBfqya","fields":{"removed":true},"job_id":"01a22944-8e77-7050-9355-8bec5cbb8cc8","kind":"remark","number":2,"record_id":"01a22944-b3d7-73c3-9c03-ae9782695e5b","recorded_at":"2026-11-29T21:45:01.956+00:00","seen":{"*":["wciOwC0gJLIJWuAqYkUy4g:16"]},"writer":"Vfry0Enbbx-gvp-ucXyMRT"}','ca94c72dd09657ea9cee264a0dcd5b005de6335ef049d584f28919cd2e701263',NULL,'2026-11-29T21:45:02.374+00:00');
INSERT INTO "entry" VALUES('01a22944-8e77-7050-9355-8bec5cbb8cc8','Vfry0Enbbx-gvp-ucXyMRT',3,'01a22944-c48a-7183-92eb-fdc86397d22f','photo','{"device_id":"phone-9wJGhBfqya","fields":{"caption":"From the bank","media_type":"image/jpeg","run_id":"01a22944-90ac-704e-9195-10dfd3087d36","sha256":"106c426665cbabc4f787e6df4a50fa8331b85abd2910cae2a6a25a18926f4bbb","size_bytes":9347},"job_id":"01a22944-8e77-7050-9355-8bec5cbb8cc8","kind":"photo","number":3,"record_id":"01a22944-c48a-7183-92eb-fdc86397d22f","recorded_at":"2026-11-29T21:45:02.346+00:00","writer":"Vfry0Enbbx-gvp-ucXyMRT"}','32b09366a550d34aa93403d960f82f6b6c732d5fdac62c9850c41a98aef30867',NULL,'2026-11-29T21:45:02.374+00:00');
INSERT INTO "entry" VALUES('01a22944-8e77-7050-9355-8bec5cbb8cc8','wciOwC0gJLIJWuAqYkUy4g',1,'01a22944-8e77-7050-9355-8bec5cbb8cc8','job','{"device_id":"phone-xs1SXRryDS","fields":{"surveyed_on":"2026-11-29","surveyor":"A. Nyone","title":"Culvert under Nowhere Lane"},"job_id":"01a22944-8e77-7050-9355-8bec5cbb8cc8","kind":"job","number":1,"record_id":"01a22944-8e77-7050-9355-8bec5cbb8cc8","recorded_at":"2026-11-29T21:44:48.699+00:00","writer":"wciOwC0gJLIJWuAqYkUy4g"}','ac0dcfa4d0e447e626955b45ab6390d8f2253d44143c20b761eb7f3160e7ab79',NULL,'2026-11-29T21:44:51.179+00:00');
INSERT INTO "entry" VALUES('01a22944-8e77-7050-9355-8bec5cbb8cc8','wciOwC0gJLIJWuAqYkUy4g',2,'01a22944-90a8-728d-a5e0-d595836aa0a6','node','{"device_id":"phone-xs1SXRryDS","fields":{"node_ref":"Outfall A"},"job_id":"01a22944-8e77-7050-9355-8bec5cbb8cc8","kind":"node","number":2,"record_id":"01a22944-90a8-728d-a5e0-d595836aa0a6","recorded_at":"2026-11-29T21:44:49.609+00:00","writer":"wciOwC0gJLIJWuAqYkUy4g"}','0b0e9fc4d9f8ef12067eb00bc4115bd43351db38b541773e4746f5653a187259',NULL,'2026-11-29T21:44:51.179+00:00');
INSERT INTO "entry" VALUES('01a22944-8e77-7050-9355-8bec5cbb8cc8','wciOwC0gJLIJWuAqYkUy4g',3,'01a22944-90ac-704e-9195-10dfd3087d36','run','{"device_id":"phone-xs1SXRryDS","fields":{"direction":"with_flow","run_ref":"R1","start_node_id":"01a22944-90a8-728d-a5e0-d595836aa0a6"},"job_id":"01a22944-8e77-7050-9355-8bec5cbb8cc8","kind":"run","number":3,"record_id":"01a22944-90ac-704e-9195-10dfd3087d36","recorded_at":"2026-11-29T21:44:49.616+00:00","writer":"wciOwC0gJLIJWuAqYkUy4g"}','6fdd3a5c58e61d78ddb1ec5dae2e12328780b07c8a72fff0c37bd27df4d76b78',NULL,'2026-11-29T21:44:51.179+00:00');
INSERT INTO "entry" VALUES('01a22944-8e77-7050-9355-8bec5cbb8cc8','wciOwC0gJLIJWuAqYkUy4g',4,'01a22944-9377-71e6-a0de-1ed56f2e8a27','reading','{"device_id":"phone-xs1SXRryDS","fields":{"counter_m":0.5,"inclination":{"sense":"falling","size":80,"typed":"80","unit":"one_in"},"run_id":"01a22944-90ac-704e-9195-10dfd3087d36"},"job_id":"01a22944-8e77-7050-9355-8bec5cbb8cc8","kind":"reading","number":4,"record_id":"01a22944-9377-71e6-a0de-1ed56f2e8a27","recorded_at":"2026-11-29T21:44:51.329+00:00","writer":"wciOwC0gJLIJWuAqYkUy4g"}','6ee673b7f1e45ba8009f31d3acbc0d9fa5c3cd6aca16fa3613b9074158369785',NULL,'2026-11-29T21:44:52.917+00:00');
INSERT INTO "entry" VALUES('01a22944-8e77-7050-9355-8bec5cbb8cc8','wciOwC0gJLIJWuAqYkUy4g',5,'01a22944-9995-708c-b807-4696c9238b11','reading','{"device_id":"phone-xs1SXRryDS","fields":{"counter_m":3.5,"inclination":{"sense":"falling","size":1.25,"typed":"1.25","unit":"pct"},"run_id":"01a22944-90ac-704e-9195-10dfd3087d36"},"job_id":"01a22944-8e77-7050-9355-8bec5cbb8cc8","kind":"reading","number":5,"record_id":"01a22944-9995-708c-b807-4696c9238b11","recorded_at":"2026-11-29T21:44:53.936+00:00","writer":"wciOwC0gJLIJWuAqYkUy4g"}','16d31042c30641ac1dcedcb6530a28d690b61270bbbb4c350ada45cfe4aa74f6',NULL,'2026-11-29T21:44:58.121+00:00');
INSERT INTO "entry" VALUES('01a22944-8e77-7050-9355-8bec5cbb8cc8','wciOwC0gJLIJWuAqYkUy4g',6,'01a22944-a416-7385-8aba-a7b3f92cd92d','reading','{"device_id":"phone-xs1SXRryDS","fields":{"counter_m":6.5,"inclination":{"sense":"rising","size":0.7,"typed":"0.7","unit":"deg"},"run_id":"01a22944-90ac-704e-9195-10dfd3087d36"},"job_id":"01a22944-8e77-7050-9355-8bec5cbb8cc8","kind":"reading","number":6,"record_id":"01a22944-a416-7385-8aba-a7b3f92cd92d","recorded_at":"2026-11-29T21:44:55.153+00:00","writer":"wciOwC0gJLIJWuAqYkUy4g"}','72113a79e894021f18bfed86f5fe510593a7c1def28ef2e933ec1a76c3157dce',NULL,'2026-11-29T21:44:58.121+00:00');
INSERT INTO "entry" VALUES('01a22944-8e77-7050-9355-8bec5cbb8cc8','wciOwC0gJLIJWuAqYkUy4g',7,'01a22944-a91b-7115-afe4-96d634287c66','reading','{"device_id":"phone-xs1SXRryDS","fields":{"counter_m":11.5,"inclination":{"over_range":true,"sense":"falling"},"run_id":"01a22944-90ac-704e-9195-10dfd3087d36"},"job_id":"01a22944-8e77-7050-9355-8bec5cbb8cc8","kind":"reading","number":7,"record_id":"01a22944-a91b-7115-afe4-96d634287c66","recorded_at":"2026-11-29T21:44:55.700+00:00","writer":"wciOwC0gJLIJWuAqYkUy4g"}','be6399a78865e00f0a7cd3d99ea5a7d7978cf59330ee9daa80d4849145d9d31c',NULL,'2026-11-29T21:44:58.121+00:00');
INSERT INTO "entry" VALUES('01a22944-8e77-7050-9355-8bec5cbb8cc8','wciOwC0gJLIJWuAqYkUy4g',8,'01a22944-ad41-73d8-85ce-7024428f229b','photo','{"device_id":"phone-xs1SXRryDS","fields":{"belongs_to":"01a22944-ab91-7135-909e-ae73f8afe68c","brightness_pct":23.5,"contrast_pct":17.3,"counter_m":2,"focus_pct":7.54,"height_px":480,"media_type":"image/jpeg","run_id":"01a22944-90ac-704e-9195-10dfd3087d36","sha256":"a8e79ac9709449fe551daf82a196a699fd3676afea51e80dd933b2bbc161b493","size_bytes":8159,"taken_at":"2026-11-29T21:44:56.306Z","width_px":640},"job_id":"01a22944-8e77-7050-9355-8bec5cbb8cc8","kind":"photo","number":8,"record_id":"01a22944-ad41-73d8-85ce-7024428f229b","recorded_at":"2026-11-29T21:44:56.385+00:00","writer":"wciOwC0gJLIJWuAqYkUy4g"}','72eeaa6e30b2d520aef6bbc1414efdd2d131e00bb015aa73ec0042b6eb584036',NULL,'2026-11-29T21:44:58.121+00:00');
INSERT INTO "entry" VALUES('01a22944-8e77-7050-9355-8bec5cbb8cc8','wciOwC0gJLIJWuAqYkUy4g',9,'01a22944-ab91-7135-909e-ae73f8afe68c','observation','{"device_id":"phone-xs1SXRryDS","fields":{"clock":{"hour_from":10,"hour_to":2},"code":"BBA","counter_m":2,"run_id":"01a22944-90ac-704e-9195-10dfd3087d36"},"job_id":"01a22944-8e77-7050-9355-8bec5cbb8cc8","kind":"observation","number":9,"record_id":"01a22944-ab91-7135-909e-ae73f8afe68c","recorded_at":"2026-11-29T21:44:56.695+00:00","writer":"wciOwC0gJLIJWuAqYkUy4g"}','d67232916f691dfbee8d087fa64fc2e0fdb081b5059e787533c114beb1bea98a',NULL,'2026-11-29T21:44:58.121+00:00');
INSERT INTO "entry" VALUES('01a22944-8e77-7050-9355-8bec5cbb8cc8','wciOwC0gJLIJWuAqYkUy4g',10,'01a22944-af79-730d-9877-36393ba3da5b','observation','{"device_id":"phone-xs1SXRryDS","fields":{"clock":{"hour_from":12},"code":"BAB","continuous":{"number":1,"role":"start"},"counter_m":4,"run_id":"01a22944-90ac-704e-9195-10dfd3087d36"},"job_id":"01a22944-8e77-7050-9355-8bec5cbb8cc8","kind":"observation","number":10,"record_id":"01a22944-af79-730d-9877-36393ba3da5b","recorded_at":"2026-11-29T21:44:57.214+00:00","writer":"wciOwC0gJLIJWuAqYkUy4g"}','dcfb81ccace739611c94f68aa51ea269553bd0cd5f17b5b202664a18764c34fd',NULL,'2026-11-29T21:44:58.121+00:00');
INSERT INTO "entry" VALUES('01a22944-8e77-7050-9355-8bec5cbb8cc8','wciOwC0gJLIJWuAqYkUy4g',11,'01a22944-b16a-7371-a209-fbc28715f321','observation','{"device_id":"phone-xs1SXRryDS","fields":{"code":"BAB","continuous":{"number":1,"role":"finish"},"counter_m":9,"run_id":"01a22944-90ac-704e-9195-10dfd3087d36"},"job_id":"01a22944-8e77-7050-9355-8bec5cbb8cc8","kind":"observation","number":11,"record_id":"01a22944-b16a-7371-a209-fbc28715f321","recorded_at":"2026-11-29T21:44:57.986+00:00","writer":"wciOwC0gJLIJWuAqYkUy4g"}','185e3b553d17964d1bfba3990b224601099e98dd8db6d2b5225810d870496d43',NULL,'2026-11-29T21:44:58.121+00:00');
INSERT INTO "entry" VALUES('01a22944-8e77-7050-9355-8bec5cbb8cc8','wciOwC0gJLIJWuAqYkUy4g',12,'01a22944-b3d4-7019-98f1-402b454c2e57','stretch','{"device_id":"phone-xs1SXRryDS","fields":{"from_counter_m":0,"height_mm":300,"run_id":"01a22944-90ac-704e-9195-10dfd3087d36","shape":"circular","to_counter_m":12},"job_id":"01a22944-8e77-7050-9355-8bec5cbb8cc8","kind":"stretch","number":12,"record_id":"01a22944-b3d4-7019-98f1-402b454c2e57","recorded_at":"2026-11-29T21:44:58.068+00:00","writer":"wciOwC0gJLIJWuAqYkUy4g"}','79598bf5768d1be029187b8fb7f82ddaa11eb1fb48a6a12a94ef71f1303c69d9',NULL,'2026-11-29T21:44:58.121+00:00');
INSERT INTO "entry" VALUES('01a22944-8e77-7050-9355-8bec5cbb8cc8','wciOwC0gJLIJWuAqYkUy4g',13,'01a22944-b3d5-701a-9c2a-c0b843e470d2','level_tie','{"device_id":"phone-xs1SXRryDS","fields":{"counter_m":0,"invert_level_m":12.34,"method":"levelled","run_id":"01a22944-90ac-704e-9195-10dfd3087d36","sd_m":0.01},"job_id":"01a22944-8e77-7050-9355-8bec5cbb8cc8","kind":"level_tie","number":13,"record_id":"01a22944-b3d5-701a-9c2a-c0b843e470d2","recorded_at":"2026-11-29T21:44:58.069+00:00","writer":"wciOwC0gJLIJWuAqYkUy4g"}','20d8c4bfb3be1983c42740a73f377f434d55b93f00cf3d41152a2fc9ced5f46a',NULL,'2026-11-29T21:44:58.121+00:00');
INSERT INTO "entry" VALUES('01a22944-8e77-7050-9355-8bec5cbb8cc8','wciOwC0gJLIJWuAqYkUy4g',14,'01a22944-b3d6-73b8-ad7f-199e76d527ca','reading','{"device_id":"phone-xs1SXRryDS","fields":{"counter_m":9.5,"inclination":{"sense":"falling","size":95,"typed":"1:95","unit":"one_in"},"run_id":"01a22944-90ac-704e-9195-10dfd3087d36"},"job_id":"01a22944-8e77-7050-9355-8bec5cbb8cc8","kind":"reading","number":14,"record_id":"01a22944-b3d6-73b8-ad7f-199e76d527ca","recorded_at":"2026-11-29T21:44:58.070+00:00","writer":"wciOwC0gJLIJWuAqYkUy4g"}','75c7cb8ffe1f000130271e309e2987fb21f5b69eb3c81187bbf0d352139eed7b',NULL,'2026-11-29T21:44:58.121+00:00');
INSERT INTO "entry" VALUES('01a22944-8e77-7050-9355-8bec5cbb8cc8','wciOwC0gJLIJWuAqYkUy4g',15,'01a22944-b3d6-73b8-ad7f-199e76d527ca','reading','{"device_id":"phone-xs1SXRryDS","fields":{"removed":true},"job_id":"01a22944-8e77-7050-9355-8bec5cbb8cc8","kind":"reading","number":15,"record_id":"01a22944-b3d6-73b8-ad7f-199e76d527ca","recorded_at":"2026-11-29T21:44:58.071+00:00","seen":{"*":["wciOwC0gJLIJWuAqYkUy4g:14"]},"writer":"wciOwC0gJLIJWuAqYkUy4g"}','906af452e110c967de0ed4189c8f3654d0b090350459d91f79599ad53f36287d',NULL,'2026-11-29T21:44:58.121+00:00');
INSERT INTO "entry" VALUES('01a22944-8e77-7050-9355-8bec5cbb8cc8','wciOwC0gJLIJWuAqYkUy4g',16,'01a22944-b3d7-73c3-9c03-ae9782695e5b','remark','{"device_id":"phone-xs1SXRryDS","fields":{"run_id":"01a22944-90ac-704e-9195-10dfd3087d36","text":"Tide turned at noon."},"job_id":"01a22944-8e77-7050-9355-8bec5cbb8cc8","kind":"remark","number":16,"record_id":"01a22944-b3d7-73c3-9c03-ae9782695e5b","recorded_at":"2026-11-29T21:44:58.071+00:00","writer":"wciOwC0gJLIJWuAqYkUy4g"}','47103eb3423c12a648d21ddb257b931cebfe9138b43d2bd6d5cac1e2febca8b9',NULL,'2026-11-29T21:44:58.121+00:00');
INSERT INTO "entry" VALUES('01a22944-8e77-7050-9355-8bec5cbb8cc8','wciOwC0gJLIJWuAqYkUy4g',17,'01a22944-b3d9-73dd-9bdb-1d7291d8568f','check','{"device_id":"phone-xs1SXRryDS","fields":{"check_type":"counter_tape","counter_from_m":0,"counter_to_m":10.02,"taped_length_m":10},"job_id":"01a22944-8e77-7050-9355-8bec5cbb8cc8","kind":"check","number":17,"record_id":"01a22944-b3d9-73dd-9bdb-1d7291d8568f","recorded_at":"2026-11-29T21:44:58.073+00:00","writer":"wciOwC0gJLIJWuAqYkUy4g"}','f2425a48e556ea6460051fd38c8644fe6732c9f64769ea185e4c2d43ee62ac22',NULL,'2026-11-29T21:44:58.121+00:00');
INSERT INTO "entry" VALUES('01a22944-8e77-7050-9355-8bec5cbb8cc8','wciOwC0gJLIJWuAqYkUy4g',18,'01a22944-8e77-7050-9355-8bec5cbb8cc8','job','{"device_id":"phone-xs1SXRryDS","fields":{"client_reference":"By the first phone"},"job_id":"01a22944-8e77-7050-9355-8bec5cbb8cc8","kind":"job","number":18,"record_id":"01a22944-8e77-7050-9355-8bec5cbb8cc8","recorded_at":"2026-11-29T21:45:01.921+00:00","writer":"wciOwC0gJLIJWuAqYkUy4g"}','b9cd03fe542d84dbad2249664269e51aa9dc2f7cb767ee8f9bd1f012982594d0',NULL,'2026-11-29T21:45:02.880+00:00');
INSERT INTO "entry" VALUES('01a22944-8e77-7050-9355-8bec5cbb8cc8','wciOwC0gJLIJWuAqYkUy4g',19,'01a22944-c67e-73b9-a89c-6e6f6ddb6161','reading','{"device_id":"phone-xs1SXRryDS","fields":{"counter_m":"deep","run_id":"01a22944-90ac-704e-9195-10dfd3087d36"},"job_id":"01a22944-8e77-7050-9355-8bec5cbb8cc8","kind":"reading","number":19,"record_id":"01a22944-c67e-73b9-a89c-6e6f6ddb6161","recorded_at":"2026-11-29T21:45:02.846+00:00","writer":"wciOwC0gJLIJWuAqYkUy4g"}','009bd9c9957945c8777f7e17be7e9ddeaad40501f6775e6c87794a00dc17f61f','{"code": "entry_refused", "reasons": {"counter_m": ["Counter reading must be a number in m."]}}','2026-11-29T21:45:02.880+00:00');
INSERT INTO "entry" VALUES('01a22944-8e77-7050-9355-8bec5cbb8cc8','wciOwC0gJLIJWuAqYkUy4g',20,'01a22944-c67e-73ba-8563-d19730af9775','reading','{"device_id":"phone-xs1SXRryDS","fields":{"counter_m":"deeper","run_id":"01a22944-90ac-704e-9195-10dfd3087d36"},"job_id":"01a22944-8e77-7050-9355-8bec5cbb8cc8","kind":"reading","number":20,"record_id":"01a22944-c67e-73ba-8563-d19730af9775","recorded_at":"2026-11-29T21:45:02.846+00:00","writer":"wciOwC0gJLIJWuAqYkUy4g"}','0b7c8656c45643c7ca749f0e8edce2e854993f8379b1723cc5f377a51c50ac47','{"code": "entry_refused", "reasons": {"counter_m": ["Counter reading must be a number in m."]}}','2026-11-29T21:45:02.880+00:00');
CREATE TABLE invitation (
	code_sha256 VARCHAR(64) NOT NULL, 
	name VARCHAR(80) NOT NULL, 
	role VARCHAR(16) NOT NULL, 
	job_id VARCHAR(36), 
	made_at VARCHAR(40) NOT NULL, 
	expires_at VARCHAR(40) NOT NULL, 
	used_at VARCHAR(40), 
	device_id VARCHAR(36), 
	CONSTRAINT pk_invitation PRIMARY KEY (code_sha256)
);
INSERT INTO "invitation" VALUES('c317103c5995c8819cde38b340a451c735fddf872e1f1a80955f25214c7ae55d','Second phone','surveyor',NULL,'2026-11-29T21:45:17.423+00:00','2026-11-30T21:45:17.423+00:00',NULL,NULL);
CREATE TABLE photo (
	sha256 VARCHAR(64) NOT NULL, 
	size_bytes BIGINT NOT NULL, 
	media_type VARCHAR(100) NOT NULL, 
	received_at VARCHAR(40) NOT NULL, 
	CONSTRAINT pk_photo PRIMARY KEY (sha256)
);
INSERT INTO "photo" VALUES('a8e79ac9709449fe551daf82a196a699fd3676afea51e80dd933b2bbc161b493',8159,'image/jpeg','2026-11-29T21:44:58.332+00:00');
INSERT INTO "photo" VALUES('106c426665cbabc4f787e6df4a50fa8331b85abd2910cae2a6a25a18926f4bbb',9347,'image/jpeg','2026-11-29T21:45:02.422+00:00');
CREATE TABLE writer_owner (
	writer VARCHAR(64) NOT NULL, 
	device_id VARCHAR(36) NOT NULL, 
	since VARCHAR(40) NOT NULL, 
	CONSTRAINT pk_writer_owner PRIMARY KEY (writer)
);
CREATE INDEX ix_entry_kind_job_id ON entry (kind, job_id);
CREATE INDEX ix_audit_job_id_id ON audit (job_id, id);
COMMIT;
